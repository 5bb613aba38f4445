"""Whether a panel is closed and riveted within the adhesive's work time, and what helps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from panelwright.facts.problem import Problem
from panelwright.plan.pace import Pace
from panelwright.sources import Source


class Fits(StrEnum):
    """How the time that is needed stands to the early bound of the work time."""

    YES = "fits"
    TIGHT = "tight"
    NO = "does not fit"
    UNKNOWN = "not known"


@dataclass(frozen=True)
class Need:
    """Minutes from the first bead to the last rivet tooled: likely, and in 9 of 10 cases."""

    likely_min: float
    late_min: float


class Help(StrEnum):
    """What may help where it does not fit."""

    HANDS = "more hands"
    MIXES = "two mixes"
    BOTH = "more hands and two mixes"
    COOL = "cool bay and panel"


@dataclass(frozen=True)
class Way:
    """One way to make it fit.

    Parameters
    ----------
    help : Help
    words : str
        What to do, instruction first.
    need : Need
    work_min : float
        Early bound of the work time then [min].
    fits : Fits
    people : int
    first, second : tuple of str
        Joints of the first and of the second mix, in their order; empty without two mixes.
    celsius : float or None
        To which bay and panel are cooled [°C].
    notes : tuple of str
        What stands against it.
    """

    help: Help
    words: str
    need: Need
    work_min: float
    fits: Fits
    people: int = 1
    first: tuple[str, ...] = ()
    second: tuple[str, ...] = ()
    celsius: float | None = None
    notes: tuple[str, ...] = ()

    @property
    def margin_min(self) -> float:
        """What is left in 9 of 10 cases; below 0: missing [min]."""
        return self.work_min - self.need.late_min


@dataclass(frozen=True)
class Pause:
    """How long work may rest between two beads.

    Parameters
    ----------
    nozzle_min : float
        With the same nozzle: the mix in it ages faster than a thin bead [min].
    all_min : float
        All pauses together, a new nozzle after each that is longer [min].
    gel_min : float
        After which the mix in a nozzle is useless [min].
    celsius : float
    """

    nozzle_min: float
    all_min: float
    gel_min: float
    celsius: float


@dataclass(frozen=True)
class LatestStart:
    """Last moment for the first bead: before a break or the end of a shift."""

    at: datetime
    before: datetime
    last: bool
    """True: the shift ends then; False: a break begins."""


@dataclass(frozen=True)
class Closing:
    """All joints that one panel closes at once.

    Parameters
    ----------
    panel, label : str
    joints : tuple of str
        Ids of the bonded ones.
    bead_mm : float
        Length of all beads [mm].
    rivets : int
    people : int
        At beads and rivets; closing takes who it takes.
    need : Need
    work_min : float or None
        Early bound at `celsius` [min].
    celsius : float or None
        The warmer of air and panel [°C].
    start : LatestStart or None
        None where nobody said when now is, or the shop's hours are not known.
    pieces : tuple of float
        Beads, closing, and rivets with the squeeze-out, by one person [min].
    """

    panel: str
    label: str
    joints: tuple[str, ...]
    bead_mm: float
    rivets: int
    people: int
    need: Need
    work_min: float | None
    celsius: float | None
    fits: Fits
    rivet_pace: Pace
    bead_pace: Pace
    begun: bool
    ways: tuple[Way, ...] = ()
    pause: Pause | None = None
    start: LatestStart | None = None
    pieces: tuple[float, float, float] = (0.0, 0.0, 0.0)
    problems: tuple[Problem, ...] = ()
    sources: tuple[Source, ...] = ()

    @property
    def margin_min(self) -> float | None:
        """What is left in 9 of 10 cases; below 0: missing [min]."""
        return None if self.work_min is None else self.work_min - self.need.late_min
