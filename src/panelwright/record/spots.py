"""What a three-view drawing shows: points, moves, and how much they are exaggerated."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.record.views import Matrix, Vector

if TYPE_CHECKING:
    from collections.abc import Sequence

ELLIPSE_95 = math.sqrt(-2.0 * math.log(0.05))
"""Semi-axis of the 95 % ellipse over the standard uncertainty: √χ²(0.95; 2) = 2.4477."""

LARGEST_MM = 8.0
"""On paper, of the largest arrow, ellipse or tolerance."""

EXAGGERATIONS = (20.0, 15.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0, 0.8, 0.5, 0.3, 0.2, 0.1)
"""Millimetres on paper for one millimetre off."""


class Kind(StrEnum):
    """What a point belongs to."""

    BODY = "body"
    PART = "part"


@dataclass(frozen=True)
class Spot:
    """One point of the drawing.

    Parameters
    ----------
    label : str
    xyz_mm : Vector
        Target position of a part's point, place of a body point.
    kind : Kind
    off_mm : Vector or None
        From the target position to where the point is.
    covariance_mm2 : 3 by 3 or None
        Of `off_mm`; None where the readings do not show it.
    tolerance_mm : float, tuple by axis, or None
        Radius, or half widths of which some may be None.
    verdict : str
        "inside", "outside", "undecided" or empty.
    """

    label: str
    xyz_mm: Vector
    kind: Kind = Kind.BODY
    off_mm: Vector | None = None
    covariance_mm2: Matrix | None = None
    tolerance_mm: float | tuple[float | None, float | None, float | None] | None = None
    verdict: str = ""


@dataclass(frozen=True)
class Push:
    """A move: at `xyz_mm`, along a unit direction, by millimetres."""

    label: str
    xyz_mm: Vector
    along: Vector
    by_mm: float


def _sizes(spot: Spot) -> list[float]:
    sizes = []
    if spot.off_mm is not None:
        sizes.append(math.hypot(*spot.off_mm))
    if spot.covariance_mm2 is not None:
        trace = sum(spot.covariance_mm2[i][i] for i in range(3))
        sizes.append(ELLIPSE_95 * math.sqrt(max(trace, 0.0)))
    if isinstance(spot.tolerance_mm, float | int):
        sizes.append(float(spot.tolerance_mm))
    elif spot.tolerance_mm is not None:
        sizes += [half for half in spot.tolerance_mm if half is not None]
    return sizes


def exaggeration(spots: Sequence[Spot], pushes: Sequence[Push]) -> float:
    """Millimetres on paper for one millimetre off, so that the largest still fits."""
    sizes = [size for spot in spots for size in _sizes(spot)]
    sizes += [abs(push.by_mm) for push in pushes]
    largest = max(sizes, default=0.0)
    if largest <= 0.0:
        return EXAGGERATIONS[0]
    return next((k for k in EXAGGERATIONS if k * largest <= LARGEST_MM), EXAGGERATIONS[-1])
