"""What is said of one part: where it sits, where its places are against home, how to move it.

Lengths are millimetres, turns milliradians, probabilities 0 to 1. Vectors are (x, y, z) with
x rearward, y to the right, z up. None stands for "these readings say nothing about it".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panelwright.fit.adjuster_answer import AdjusterSetting
from panelwright.fit.vector import Spread, Vector


class Verdict(StrEnum):
    """What may be said of a place with its tolerance at the wanted confidence."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    UNDECIDED = "undecided"


@dataclass(frozen=True)
class Direction:
    """One direction of a point or station by itself.

    Parameters
    ----------
    name : str
        "x", "y", "z", "gap" or "flush".
    p_inside : float or None
        Probability that the displacement along it alone lies within the tolerance; None where the
        readings do not check it.
    """

    name: str
    p_inside: float | None
    verdict: Verdict


@dataclass(frozen=True)
class HomedPoint:
    """A point of a fitted part against its target position.

    Parameters
    ----------
    off_mm : Vector
        What the part's shift and turn do at this point.
    u_mm : Spread
        Standard uncertainty of `off_mm`, from shift and turn alone.
    shape_mm : Vector
        What the readings say of this point beyond shift and turn.
    shape_finding : bool
        True where `shape_mm` exceeds three times the shape uncertainty on an axis.
    p_inside, p_best : float or None
        Probability of lying within tolerance, and the same if it were exactly home.
    note : str
        Why there is no verdict, where there is none.
    """

    id: str
    off_mm: Vector
    u_mm: Spread
    shape_mm: Vector
    shape_finding: bool
    p_inside: float | None
    p_best: float | None
    verdict: Verdict
    note: str = ""
    directions: tuple[Direction, ...] = ()
    """Those that are judged: each against the whole tolerance, or its own."""


@dataclass(frozen=True)
class StationFit:
    """Gap and flush at a station, as the whole network sees them."""

    id: str
    gap_mm: float | None
    flush_mm: float | None
    u_mm: tuple[float | None, float | None]
    p_inside: float | None
    verdict: Verdict
    note: str = ""
    directions: tuple[Direction, ...] = ()


@dataclass(frozen=True)
class Unseen:
    """A motion of a part that the readings do not show (`u_mm` None), or show too weakly.

    `shift_mm` and `turn_mrad` are the motion, one standard uncertainty of it where `u_mm` (at the
    point that it moves most) is given, else a motion of 1 mm there.
    """

    shift_mm: Vector
    turn_mrad: Vector
    u_mm: float | None
    place: str
    along: Vector
    """Unit direction in which that place moves."""
    words: str
    reach_mm: float | None = None
    """How far that place could sit off unseen, at the confidence of the verdicts."""
    at: str = ""
    """The point, station, contact or locator there."""


@dataclass(frozen=True)
class Sees:
    """What one kind of reading says of a part by itself, beside what is known of the body.

    Parameters
    ----------
    part : str
    kind : str
        Such as "side against side" or "flush".
    readings : int
        How many scalar readings there are of it; 0: as one such reading would see it.
    share : tuple of float
        Of each of the six motions, forward, right, up, roll, pitch and yaw, how much of the doubt
        it takes away: 0 none, 1 all.
    motions : int
        How many of the six it holds, in whatever direction they lie.
    open_mm : tuple of float or None
        How far the part may be moved along each of the six alone, at the place that moves most,
        before this kind of reading would show it; None: it never shows.
    """

    part: str
    kind: str
    readings: int
    share: tuple[float, ...]
    motions: int
    open_mm: tuple[float | None, ...]
    words: str


@dataclass(frozen=True)
class Move:
    """Push the part at `xyz` by `by_mm` along the unit direction `along`.

    `place` says in words where `xyz` is on the part.
    """

    xyz: Vector
    along: Vector
    by_mm: float
    place: str
    words: str


@dataclass(frozen=True)
class Spring:
    """Twist or bow of a skin that is not pinned.

    Parameters
    ----------
    mode : str
        "twist" or "bow".
    amplitude_mm, u_mm : float
        At the home that it moves most; `place` says where that is.
    seen : bool
        Whether it is more than its uncertainty makes likely.
    """

    mode: str
    amplitude_mm: float
    u_mm: float
    place: str
    seen: bool
    words: str


@dataclass(frozen=True)
class PartFit:
    """One part in its latest setting.

    Parameters
    ----------
    covariance : tuple of tuple of float, 6 by 6, or None
        Of shift [mm] and turn [mrad]; None where a motion is not seen at all.
    """

    id: str
    setting: int
    shift_mm: Vector
    turn_mrad: Vector
    covariance: tuple[tuple[float, ...], ...] | None
    points: tuple[HomedPoint, ...]
    stations: tuple[StationFit, ...]
    unseen: tuple[Unseen, ...]
    moves: tuple[Move, ...]
    label: str = ""
    """What people call the part."""
    shift_u_mm: Spread = (None, None, None)
    turn_u_mrad: Spread = (None, None, None)
    settings: tuple[AdjusterSetting, ...] = ()
    """How to set its adjusters; `moves` is what they allow then."""
    spring: tuple[Spring, ...] = ()

    @property
    def swings(self) -> bool:
        """Whether a motion of the part is left that nothing holds."""
        return any(motion.u_mm is None for motion in self.unseen)

    @property
    def verdict(self) -> Verdict:
        """On the part as a whole: inside only where every place is and no motion is left free."""
        judged = {point.verdict for point in self.points}
        judged |= {station.verdict for station in self.stations}
        if Verdict.OUTSIDE in judged:
            return Verdict.OUTSIDE
        if judged != {Verdict.INSIDE} or self.swings:
            return Verdict.UNDECIDED
        return Verdict.INSIDE
