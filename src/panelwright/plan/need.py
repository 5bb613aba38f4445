"""Minutes from the first bead to the last rivet tooled, by joint, people and mixes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from panelwright.plan.closing_answer import Fits, Need
from panelwright.plan.library import library, settings
from panelwright.plan.measure import metres_of, rivets_of
from panelwright.plan.pace import Paces, fixed_of, rates_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.plan.course import Course

LATE_Z = 1.2816
"""Of 9 cases in 10."""
STEPS = ("bead", "close", "rivet")
MOST_TRIED = 12
"""Joints up to which every split in two mixes is tried."""


@dataclass(frozen=True)
class Share:
    """What one joint asks for.

    Parameters
    ----------
    joint : str
    bead_min, rivet_min : float
        By one person [min].
    """

    joint: str
    bead_min: float
    rivet_min: float


@dataclass(frozen=True)
class Work:
    """What closing one panel asks for.

    Parameters
    ----------
    shares : tuple of Share
    bead_min, close_min, rivet_min : float
        What does not depend on the joints [min].
    """

    shares: tuple[Share, ...]
    bead_min: float
    close_min: float
    rivet_min: float
    metres: float
    rivets: int


def work_of(course: Course, part: str, paces: Paces) -> Work:
    """What closing one panel asks for; the shop's own hours of a step replace the paces."""
    joints = course.joints_of(part)
    tooling = rates_of("rivet")["metre"]
    glued = {joint.id for joint in course.bonded_of(part)}
    shares, metres, rivets = [], 0.0, 0
    for joint in joints:
        length = metres_of(course, joint) if joint.id in glued else 0.0
        count = rivets_of(course, joint)
        rivet_min = count * paces.rivet.each_min + tooling * length
        shares.append(Share(joint.id, length * paces.metre.each_min, rivet_min))
        metres, rivets = metres + length, rivets + count
    found = Work(
        tuple(share for share in shares if share.bead_min or share.rivet_min),
        fixed_of("bead"),
        fixed_of("close"),
        fixed_of("rivet"),
        metres,
        rivets,
    )
    return _with_own_hours(found, course, part)


def _with_own_hours(work: Work, course: Course, part: str) -> Work:
    """Scale each step to the hours that the repair file gives it."""
    hours = {
        base: step.hours * 60.0
        for step in course.repair.steps
        for base in STEPS
        if step.hours is not None and step.id in (base, f"{base}-{part}")
    }
    bead = _factor(hours.get("bead"), work.bead_min + sum(s.bead_min for s in work.shares))
    rivet = _factor(hours.get("rivet"), work.rivet_min + sum(s.rivet_min for s in work.shares))
    return Work(
        tuple(Share(s.joint, bead * s.bead_min, rivet * s.rivet_min) for s in work.shares),
        bead * work.bead_min,
        hours.get("close", work.close_min),
        rivet * work.rivet_min,
        work.metres,
        work.rivets,
    )


def _factor(hours_min: float | None, counted_min: float) -> float:
    return 1.0 if hours_min is None or counted_min <= 0.0 else hours_min / counted_min


def need_of(work: Work, people: int = 1) -> Need:
    """Minutes that it takes in one mix; beads and rivets are shared among the people.

    The spread: each step's own, and the pace that all of them share.
    """
    bead = work.bead_min + sum(s.bead_min for s in work.shares) / people
    rivet = work.rivet_min + sum(s.rivet_min for s in work.shares) / people
    return _need(bead, work.close_min, rivet)


def _need(bead: float, close: float, rivet: float) -> Need:
    spreads = {row.id: row.spread for row in library() if row.id in STEPS}
    own = ((bead, "bead"), (close, "close"), (rivet, "rivet"))
    total = bead + close + rivet
    if total <= 0.0:
        return Need(0.0, 0.0)
    variance = sum((minutes * spreads[base]) ** 2 for minutes, base in own)
    variance += (total * settings()["shared_spread"]) ** 2
    return Need(total, total * math.exp(LATE_Z * math.sqrt(variance) / total))


@dataclass(frozen=True)
class Split:
    """Joints in two mixes, and what the longer of both needs from its first bead on."""

    first: tuple[str, ...]
    second: tuple[str, ...]
    need: Need


def two_mixes(work: Work, people: int = 1) -> Split | None:
    """The split in two mixes whose longer one is shortest; the panel still closes once.

    Each mix has its own clock. The first is laid, then the second with a new nozzle; the panel
    closes; the rivets of the first are set first. So the first waits for the beads of the second,
    and the second for the rivets of the first. None where there is one joint only.
    """
    if len(work.shares) < 2:
        return None
    best: Split | None = None
    for first in _choices(work.shares):
        found = _split(work, first, people)
        if best is None or found.need.late_min < best.need.late_min - 1e-9:
            best = found
    return best


def _choices(shares: Sequence[Share]) -> list[tuple[Share, ...]]:
    """First mixes to try: all of them, or for many joints the first so many in two orders."""
    if len(shares) <= MOST_TRIED:
        return [some for size in range(1, len(shares)) for some in combinations(shares, size)]
    by_bead = sorted(shares, key=lambda s: s.rivet_min - s.bead_min)
    return [tuple(by_bead[:size]) for size in range(1, len(shares))]


def _split(work: Work, first: Sequence[Share], people: int) -> Split:
    mine = {share.joint for share in first}
    second = tuple(share for share in work.shares if share.joint not in mine)
    change = settings()["second_mix_minutes"]
    bead_1 = work.bead_min + sum(s.bead_min for s in first) / people
    bead_2 = sum(s.bead_min for s in second) / people
    rivet_1 = work.rivet_min + sum(s.rivet_min for s in first) / people
    rivet_2 = sum(s.rivet_min for s in second) / people
    needs = (
        _need(bead_1 + change + bead_2, work.close_min, rivet_1),
        _need(bead_2, work.close_min, rivet_1 + rivet_2),
    )
    return Split(
        tuple(share.joint for share in first),
        tuple(share.joint for share in second),
        max(needs, key=lambda need: need.late_min),
    )


def fits(need: Need, work_min: float) -> Fits:
    """How a need stands to the early bound of the work time."""
    if need.late_min <= work_min:
        return Fits.YES
    return Fits.TIGHT if need.likely_min <= work_min else Fits.NO
