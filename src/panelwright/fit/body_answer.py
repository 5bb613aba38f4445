"""Whether the body itself is true, and whether the sources of a home agree.

Lengths are millimetres, turns milliradians, probabilities 0 to 1. Vectors are (x, y, z) with
x rearward, y to the right, z up. None stands for "these readings say nothing about it".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panelwright.fit.vector import Spread, Vector


class BodyStatus(StrEnum):
    """Whether the body that everything hangs on is itself true."""

    TRUE = "true"
    RACKED = "racked?"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True)
class HomeSource:
    """Where one source says that a point belongs; `u_mm` is standard uncertainty."""

    home: str
    xyz_mm: Vector
    u_mm: Spread


@dataclass(frozen=True)
class HomeCheck:
    """Two sources of one point's home against each other.

    Parameters
    ----------
    one, other : HomeSource
    difference_mm, u_mm : Vector
        The second less the first, and its standard uncertainty.
    statistic, high : float
        dᵀ C⁻¹ d, and what it may be in 999 of 1000 points (chi-square, 3 degrees of freedom).
    """

    point: str
    one: HomeSource
    other: HomeSource
    difference_mm: Vector
    u_mm: Vector
    statistic: float
    high: float
    ok: bool
    words: str


@dataclass(frozen=True)
class PairCheck:
    """How far an undamaged pair is from lying mirror-wise, by all other readings.

    Differences of x and z and the sum of y; `u_mm` holds the symmetry of a sound body too, and
    `w` is their quotient. None where no other reading tells.

    Parameters
    ----------
    damaged : bool
        True where the pair does not go with the centre plane of the others.
    off_mm, off_u_mm : Spread
        With `damaged`: how far `point` lies from the mirror image of `twin` once the pair is left
        out of the centre plane altogether.
    """

    point: str
    twin: str
    difference_mm: Spread
    u_mm: Spread
    w: Spread
    damaged: bool = False
    off_mm: Spread = (None, None, None)
    off_u_mm: Spread = (None, None, None)


@dataclass(frozen=True)
class OpeningCheck:
    """Two pairs as an opening of the body: its diagonals and its sides, by the readings alone.

    Parameters
    ----------
    pair, against : tuple of str
        The pair that is looked at, and the one that it is compared with; left point first.
    diagonal_mm, diagonal_u_mm : float
        Diagonal from the left point of `pair`, less the one from its right point.
    lean_mm, lean_u_mm : float
        How far `pair` stands to the right against `against`: the shear that makes that difference.
    side_mm, side_u_mm : float or None
        Left side of the opening less its right side; None where it was not measured.
    w : float
        The larger of both differences over what a sound body and the readings allow.
    racked : bool
    """

    pair: tuple[str, str]
    against: tuple[str, str]
    diagonal_mm: float
    diagonal_u_mm: float
    lean_mm: float
    lean_u_mm: float
    side_mm: float | None
    side_u_mm: float | None
    w: float
    racked: bool
    ends: tuple[str, str]
    """What `pair` and `against` are of it: "top" and "bottom", or "front" and "rear"."""


@dataclass(frozen=True)
class SheetCheck:
    """How far a body point lies from a coordinate given for it, by all other readings."""

    point: str
    axis: str
    difference_mm: float
    u_mm: float
    w: float


@dataclass(frozen=True)
class BodyAnswer:
    """Whether the body itself is true."""

    status: BodyStatus
    words: str
    pairs: tuple[PairCheck, ...]
    sheet: tuple[SheetCheck, ...]
    openings: tuple[OpeningCheck, ...] = ()
    """Those that the readings tell, largest `w` first."""

    @property
    def first(self) -> bool:
        """Whether the structure comes before any panel: no move of one is told until it is true."""
        return self.status is BodyStatus.RACKED
