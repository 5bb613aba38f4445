"""What the fit room answers: where every panel sits, how surely, and which way to move it.

Lengths are millimetres, turns milliradians, probabilities 0 to 1. Vectors are (x, y, z) with
x rearward, y to the right, z up. None stands for "these readings say nothing about it".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panelwright.facts.problem import Problem
from panelwright.fit.adjuster_answer import Reach
from panelwright.fit.body_answer import BodyAnswer, HomeCheck
from panelwright.fit.next_answer import BeforeCut, Decider, NextReading, Together
from panelwright.fit.part_answer import PartFit, Sees
from panelwright.fit.reading_answer import Correction, LearntTool, ReadingRow, Recheck, Repeat
from panelwright.fit.vector import Spread, Vector
from panelwright.sources import Source


class Status(StrEnum):
    """How the adjustment ended."""

    CONVERGED = "converged"
    NOT_CONVERGED = "not converged"


@dataclass(frozen=True)
class PointPlace:
    """Where a point is, in the latest setting of its part."""

    id: str
    xyz_mm: Vector | None
    u_mm: Spread


@dataclass(frozen=True)
class TwoPlaces:
    """Another place that the readings fit as well.

    Parameters
    ----------
    points : tuple of str
        One point, or several that would lie there together.
    xyz_mm, other_mm : tuple of Vector
        Where they are taken to be, and where they could be instead.
    settled : bool
        Whether the rough coordinates that were given tell which it is.
    """

    points: tuple[str, ...]
    xyz_mm: tuple[Vector, ...]
    other_mm: tuple[Vector, ...]
    settled: bool
    words: str


@dataclass(frozen=True)
class HeldWeakly:
    """A direction in which the readings hold a point not at all (`u_mm` None), or weakly."""

    point: str
    along: Vector
    u_mm: float | None
    words: str


@dataclass(frozen=True)
class GlobalTest:
    """Two-sided chi-square test at 95 % of all readings together; None where nothing can fail."""

    statistic: float
    low: float | None
    high: float | None
    ok: bool | None


@dataclass(frozen=True)
class Answer:
    """Everything that the readings say about where the parts sit."""

    points: tuple[PointPlace, ...]
    parts: tuple[PartFit, ...]
    readings: tuple[ReadingRow, ...]
    next: tuple[NextReading, ...]
    body: BodyAnswer
    variance_factor: float | None
    dof: int
    global_test: GlobalTest
    datum: str
    status: Status
    iterations: int
    confidence: float
    suspects_note: str
    problems: tuple[Problem, ...]
    sources: tuple[Source, ...]
    earlier: tuple[PartFit, ...] = ()
    """Parts in their earlier dry fits, oldest first; points only."""
    reach: tuple[Reach, ...] = ()
    """How good adjusters can get it, one for each group of parts that are set together."""
    two_places: tuple[TwoPlaces, ...] = ()
    weak: tuple[HeldWeakly, ...] = ()
    recheck: tuple[Recheck, ...] = ()
    sees: tuple[Sees, ...] = ()
    homes: tuple[HomeCheck, ...] = ()
    """Of points with more than one source of their home."""
    corrections: tuple[Correction, ...] = ()
    repeats: tuple[Repeat, ...] = ()
    learnt: tuple[LearntTool, ...] = ()
    together: tuple[Together, ...] = ()
    """What two and three readings together are expected to settle."""
    deciders: tuple[Decider, ...] = ()
    """One for each undecided point and station that has a tolerance."""
    before_cut: BeforeCut | None = None
    """While a part that is to come off is still on."""

    @property
    def moves_wait(self) -> bool:
        """Tell whether a reading is to be read again first: every move rests on it, too."""
        return any(one.located for one in self.recheck)
