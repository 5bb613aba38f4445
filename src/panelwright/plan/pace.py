"""How fast this shop lays beads and sets rivets: from its own logs, else as is common."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.plan.library import library, settings
from panelwright.sources import Basis, Source

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import datetime

    from panelwright.facts.models.bonding import Event
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

BELIEVED = {"rivet": (0.05, 5.0), "metre": (0.3, 20.0)}
"""Minutes for one; outside them a moment was tapped late, or something else was done."""
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Run:
    """So much done in one go, as a log tells it.

    Parameters
    ----------
    measure : str
        "rivet" or "metre" (of bead).
    amount : float
    minutes : float
        That these took [min].
    """

    measure: str
    amount: float
    minutes: float


@dataclass(frozen=True)
class Pace:
    """Minutes for one rivet or one metre of bead.

    Parameters
    ----------
    each_min : float
        [min]
    runs : int
        From how many; 0: common practice.
    amount : float
        Rivets, or metres, in these runs.
    """

    measure: str
    each_min: float
    runs: int
    amount: float

    @property
    def words(self) -> str:
        """From what it is known."""
        if not self.runs:
            return PRACTICE
        times = "1 time" if self.runs == 1 else f"{self.runs} times"
        what = "rivets" if self.measure == "rivet" else "m of bead"
        return f"from this shop's own logs: {times}, {self.amount:.3g} {what}"

    @property
    def source(self) -> Source:
        """On whose word it stands."""
        what = "minutes for a rivet" if self.measure == "rivet" else "minutes for a metre of bead"
        if not self.runs:
            return Source(Basis.PRACTICE, f"{what}, no source")
        return Source(Basis.MEASURED, f"{what}, {self.words}")


@dataclass(frozen=True)
class Paces:
    """Both paces of a shop."""

    rivet: Pace
    metre: Pace


def common() -> Paces:
    """The paces where no log tells any."""
    return paces(())


def paces(runs: Iterable[Run]) -> Paces:
    """A shop's paces from the runs of all its logs: all minutes by all rivets, or metres.

    Parameters
    ----------
    runs : iterable of Run
    """
    told = tuple(runs)
    least = {"rivet": settings()["least_rivets"], "metre": settings()["least_metres"]}
    found = {}
    for measure, base in (("rivet", "rivet"), ("metre", "bead")):
        mine = [run for run in told if run.measure == measure]
        amount = sum(run.amount for run in mine)
        if amount >= least[measure]:
            each = sum(run.minutes for run in mine) / amount
            found[measure] = Pace(measure, each, len(mine), amount)
        else:
            found[measure] = Pace(measure, rates_of(base)[measure], 0, 0.0)
    return Paces(found["rivet"], found["metre"])


def rates_of(base: str) -> Mapping[str, float]:
    """Minutes for each of what a library step counts."""
    row = next(row for row in library() if row.id == base)
    return dict(row.rates)


def fixed_of(base: str) -> float:
    """Minutes that a library step always takes."""
    return next(row for row in library() if row.id == base).fixed_min


def runs_of(repair: Repair) -> tuple[Run, ...]:
    """What the log of one repair tells of the pace of beads and rivets.

    Rivets: from panel on to rivets set, or to the signature of that step, less what tooling the
    squeeze-out takes; where neither is there, from one count of set rivets to the next. Beads: from
    adhesive started to panel on, less what closing takes.
    """
    joints = repair.joint_by_id
    moments = _moments(repair)
    whole = [*_riveted(repair, moments), *_laid(repair, moments)]
    timed = {joint for joint, kinds in moments.items() if "closed" in kinds and "set" in kinds}
    taps = [run for joint in joints if joint not in timed for run in _tapped(repair.counts, joint)]
    return tuple(run for run in (*whole, *taps) if _believed(run))


def _believed(run: Run) -> bool:
    low, high = BELIEVED[run.measure]
    return run.amount > 0 and low <= run.minutes / run.amount <= high


def _moments(repair: Repair) -> dict[str, dict[str, datetime]]:
    """By joint the last moments: begun, closed, set; a signature of the step counts as set."""
    names = {"bead-begun": "begun", "closed": "closed", "rivets-set": "set"}
    found: dict[str, dict[str, datetime]] = {}
    for event in repair.events:
        if event.at is not None and event.kind in names and event.joint is not None:
            found.setdefault(event.joint, {})[names[event.kind]] = event.at
    for event in repair.events:
        if event.kind != "done" or event.at is None:
            continue
        part = (event.step or "").removeprefix("rivet-")
        if part == event.step:
            continue
        for joint in repair.joints:
            mine = found.get(joint.id, {})
            if part in joint.layers and "closed" in mine:
                mine.setdefault("set", event.at)
    return found


def _together(
    moments: Mapping[str, Mapping[str, datetime]], start: str, end: str
) -> Iterator[tuple[list[str], float]]:
    """Joints that began and ended in one go, and the minutes between."""
    groups: dict[tuple[datetime, datetime], list[str]] = {}
    for joint, kinds in moments.items():
        if start in kinds and end in kinds:
            groups.setdefault((kinds[start], kinds[end]), []).append(joint)
    for (first, last), some in groups.items():
        yield some, (last - first).total_seconds() / 60.0


def _riveted(repair: Repair, moments: Mapping[str, Mapping[str, datetime]]) -> Iterator[Run]:
    for some, minutes in _together(moments, "closed", "set"):
        rivets = [_rivets(repair, repair.joint_by_id.get(joint)) for joint in some]
        if any(count is None for count in rivets):
            continue
        tooled = rates_of("rivet")["metre"] * _metres(repair, some)
        yield Run("rivet", sum(c or 0 for c in rivets), minutes - fixed_of("rivet") - tooled)


def _laid(repair: Repair, moments: Mapping[str, Mapping[str, datetime]]) -> Iterator[Run]:
    for some, minutes in _together(moments, "begun", "closed"):
        spent = minutes - fixed_of("bead") - fixed_of("close")
        yield Run("metre", _metres(repair, some), spent)


def _metres(repair: Repair, joints: Iterable[str]) -> float:
    known = [repair.joint_by_id.get(joint) for joint in joints]
    return sum(one.length.mm / 1000.0 for one in known if one is not None and one.length)


def _rivets(repair: Repair, joint: Joint | None) -> int | None:
    """Rivets of a joint: as counted while they were set, as the procedure says, or as before."""
    if joint is None:
        return None
    counted = sum(e.count or 0 for e in repair.counts if e.joint == joint.id and e.kind == "set")
    if counted > 0:
        return counted
    if joint.remake is not None and joint.remake.count is not None:
        return joint.remake.count
    return joint.old.count if joint.old is not None else None


def _tapped(events: Sequence[Event], joint: str) -> Iterator[Run]:
    """Rivets counted one after the other: each count took the time since the one before."""
    mine = sorted(
        (e.at, e.count or 0)
        for e in events
        if e.joint == joint and e.kind == "set" and e.at is not None
    )
    most = settings()["pause_in_log"]
    amount = minutes = 0.0
    for (before, _), (at, count) in pairwise(mine):
        gap = (at - before).total_seconds() / 60.0
        if 0.0 < gap <= most and count > 0:
            amount, minutes = amount + count, minutes + gap
    if amount:
        yield Run("rivet", amount, minutes)
