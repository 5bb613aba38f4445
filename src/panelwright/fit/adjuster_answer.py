"""What is answered about adjusters: how to set them, what is expected then, and what limits it.

Lengths are millimetres, probabilities 0 to 1; None stands for "these readings do not tell".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.fit.vector import Vector


class LimitKind(StrEnum):
    """What keeps a part from coming nearer."""

    RANGE = "range"
    STEP = "step"
    FLANGE = "contact or pin"
    HINGE = "hinge"
    RIGID = "rigid part"


@dataclass(frozen=True)
class AdjusterSetting:
    """How one adjuster is to be set.

    Parameters
    ----------
    index : int
        Of the adjuster in the file, from 0.
    along : Vector
        Unit direction in which the part goes there when the adjuster is turned up.
    from_mm, by_mm, to_mm : float
        Where it stands, the change, and where it is to stand; on the scale of `range_mm`.
    step_mm : float or None
        Thickness of one shim; None where it slides.
    steps : int or None
        How many shims more (fewer where negative).
    at_end : bool
        Whether it ends where it can go no further.
    u_mm : float or None
        Standard uncertainty of how far the part is off there; None where that is not seen.
    """

    part: str
    index: int
    id: str | None
    name: str
    kind: str
    xyz: Vector
    along: Vector
    from_mm: float
    by_mm: float
    to_mm: float
    range_mm: tuple[float, float]
    step_mm: float | None
    steps: int | None
    at_end: bool
    u_mm: float | None
    place: str
    words: str
    note: str = ""

    @property
    def changes(self) -> bool:
        """Whether it is to be set anew."""
        return self.by_mm != 0.0


@dataclass(frozen=True)
class ExpectedPlace:
    """A point, gap or flush as it is expected once adjusters are set and pushes made.

    Parameters
    ----------
    kind : str
        "point", "gap" or "flush".
    off_mm : float
        How far from what is wanted: a distance for a point with one tolerance, else signed.
    axis : str
        Of a point that is judged by axis.
    ratio : float
        |off| / tolerance.
    ratio_now : float
        The same as it stands now.
    p_inside : float
        Of the point or station as a whole.
    """

    kind: str
    id: str
    part: str
    axis: str
    off_mm: float
    tolerance_mm: float
    ratio: float
    ratio_now: float
    p_inside: float


@dataclass(frozen=True)
class Limit:
    """What keeps places from coming inside.

    Parameters
    ----------
    adjuster : str or None
        The name of the one whose range ends.
    more_mm : float or None
        How much more range it would take; negative where the range would go on below.
    """

    kind: LimitKind
    words: str
    part: str | None = None
    adjuster: str | None = None
    more_mm: float | None = None


@dataclass(frozen=True)
class Reach:
    """How good the adjusters of some parts together can get it.

    Parameters
    ----------
    parts : tuple of str
        Parts whose gaps hang together, set at once.
    worst_ratio, ratio_now : float
        Largest |off| / tolerance of all their places, at the best setting and now.
    worst : ExpectedPlace
        The place where that is.
    inside : bool
        Whether every place is expected within its tolerance.
    limited_by : tuple of Limit
        Empty where nothing stands in the way of being inside.
    """

    parts: tuple[str, ...]
    worst_ratio: float
    ratio_now: float
    worst: ExpectedPlace
    expected: tuple[ExpectedPlace, ...]
    inside: bool
    limited_by: tuple[Limit, ...]
    words: str
