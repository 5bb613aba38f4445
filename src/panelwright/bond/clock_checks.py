"""Moments out of order, too late or too early, each as a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.bond.clocks import Recorded, spoken
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from panelwright.bond.answer import Clock

MUST_FOLLOW = (
    ("prepared", "bead-begun"),
    ("bead-begun", "closed"),
    ("closed", "rivets-set"),
    ("closed", "lamp-on"),
    ("lamp-on", "lamp-off"),
    ("closed", "released"),
)


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
