"""Moments out of order, too late or too early, each as a sentence."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from panelwright.bond.clocks import ORDER, Recorded, spoken
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from panelwright.bond.answer import Clock
    from panelwright.facts.models.bonding import Event

MUST_FOLLOW = (
    ("prepared", "bead-begun"),
    ("bead-begun", "closed"),
    ("closed", "rivets-set"),
    ("closed", "lamp-on"),
    ("lamp-on", "lamp-off"),
    ("closed", "released"),
    ("rivets-set", "released"),
    ("lamp-off", "released"),
)
SPOKEN = {
    "prepared": "surfaces prepared",
    "bead-begun": "adhesive started",
    "closed": "panel on",
    "rivets-set": "rivets set",
    "lamp-on": "lamp on",
    "lamp-off": "lamp off",
    "released": "released",
}
"""Kinds of moment as people say them."""
ONCE = tuple(kind for kind in ORDER if not kind.startswith("lamp"))


def order_problems(joint: str, found: Recorded, zone: ZoneInfo) -> tuple[Problem, ...]:
    """Moments out of order, each as a sentence; the clocks run on all the same.

    Parameters
    ----------
    joint : str
        Id.
    found : Recorded
        Its moments.
    zone : ZoneInfo
        In which they are said.

    Returns
    -------
    tuple of Problem
    """
    problems = []
    for earlier, later in MUST_FOLLOW:
        first, second = found.at(earlier), found.at(later)
        if first is not None and second is not None and second < first:
            problems.append(
                Problem(
                    f"joint {joint}",
                    f"{later} at {spoken(second, zone)} stands before {earlier} at "
                    f"{spoken(first, zone)}; correct the wrong one. The clocks run from the times "
                    f"as they are.",
                )
            )
    return tuple(problems)


def clock_problems(joint: str, clock: Clock, zone: ZoneInfo) -> tuple[Problem, ...]:
    """Moments that came too late or too early, each as a sentence.

    Parameters
    ----------
    joint : str
        Id.
    clock : Clock
        With what follows from the cure.
    zone : ZoneInfo
        In which moments are said.

    Returns
    -------
    tuple of Problem
    """
    problems = []
    where = f"joint {joint}"
    if clock.bead_begun and clock.prepared_until and clock.bead_begun > clock.prepared_until:
        problems.append(
            Problem(
                where,
                f"the surface prepared at {spoken(clock.prepared or clock.bead_begun, zone)} was "
                f"good until {spoken(clock.prepared_until, zone)}, and the bead was begun at "
                f"{spoken(clock.bead_begun, zone)}: prepare again.",
            )
        )
    for done, moment in (("closed", clock.closed), ("rivets were set", clock.rivets_set)):
        if moment and clock.work_until and moment > clock.work_until:
            problems.append(
                Problem(
                    where,
                    f"{done} at {spoken(moment, zone)}, after the adhesive may have gelled "
                    f"({spoken(clock.work_until, zone)}): open and check the bond.",
                )
            )
    if clock.released and clock.handle and clock.released < clock.handle.late:
        problems.append(
            Problem(
                where,
                f"released at {spoken(clock.released, zone)}; handling strength is sure only at "
                f"{spoken(clock.handle.late, zone)}: support the joint and check it.",
            )
        )
    return tuple(problems)


def missing_problems(joint: str, found: Recorded, zone: ZoneInfo) -> tuple[Problem, ...]:
    """Moments without the one that their clock runs from, each as a sentence.

    Parameters
    ----------
    joint : str
        Id.
    found : Recorded
        Its moments.
    zone : ZoneInfo
        In which they are said.

    Returns
    -------
    tuple of Problem
    """
    problems = []
    for kind, base, lost in (
        ("closed", "bead-begun", "the work time cannot be watched"),
        ("rivets-set", "closed", "no time to handling strength runs"),
        ("released", "closed", "nobody can say whether it held by then"),
        ("lamp-off", "lamp-on", "its lamp time is not counted"),
    ):
        moment = found.at(kind)
        if moment is not None and found.at(base) is None:
            problems.append(
                Problem(
                    f"joint {joint}",
                    f"{SPOKEN[kind]} at {spoken(moment, zone)}, but {SPOKEN[base]} is not "
                    f"recorded: {lost}. Say when it was.",
                )
            )
    return tuple(problems)


def repeated_problems(joint: str, events: Sequence[Event], zone: ZoneInfo) -> tuple[Problem, ...]:
    """Moments that were said more than once; the clock runs from the last.

    Parameters
    ----------
    joint : str
        Id.
    events : sequence of Event
        Of the whole repair.
    zone : ZoneInfo
        In which moments are said.

    Returns
    -------
    tuple of Problem
    """
    mine = [e for e in events if e.joint == joint and e.kind in ONCE and e.at is not None]
    problems = []
    for kind, count in Counter(event.kind for event in mine).items():
        moments = sorted({event.at for event in mine if event.kind == kind and event.at})
        if count > 1 and len(moments) > 1:
            told = ", ".join(spoken(moment, zone) for moment in moments)
            problems.append(
                Problem(
                    f"joint {joint}",
                    f"{SPOKEN[kind]} stands {len(moments)} times ({told}): its clock runs from "
                    f"the last. Take back what is wrong.",
                )
            )
    return tuple(problems)


def future_problems(joint: str, clock: Clock, now: datetime, zone: ZoneInfo) -> tuple[Problem, ...]:
    """Moments that are still to come: a clock was set back, or a time is wrong.

    Parameters
    ----------
    joint : str
        Id.
    clock : Clock
        As recorded.
    now : datetime
        With its offset.
    zone : ZoneInfo
        In which moments are said.

    Returns
    -------
    tuple of Problem
        The clocks run from the moments as they are.
    """
    told = (
        ("prepared", clock.prepared),
        ("bead-begun", clock.bead_begun),
        ("closed", clock.closed),
        ("rivets-set", clock.rivets_set),
        ("lamp-on", clock.lamp_on),
        ("lamp-off", clock.lamp_off),
        ("released", clock.released),
    )
    return tuple(
        Problem(
            f"joint {joint}",
            f"{SPOKEN[kind]} stands at {spoken(moment, zone)}, which is still to come: a clock was "
            f"set back, or the time is wrong. Correct it; until then its clock runs from there.",
        )
        for kind, moment in told
        if moment is not None and moment > now
    )
