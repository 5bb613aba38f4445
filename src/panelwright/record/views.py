"""The three views of a drawing: which way they look, where they lie, at what scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.record.labels import Rectangle

if TYPE_CHECKING:
    from collections.abc import Sequence

Vector = tuple[float, float, float]
Matrix = tuple[Vector, Vector, Vector]

SCALES = (1, 2, 4, 5, 8, 10, 12, *range(15, 100, 5), 100, 120, 150, 200, 300, 500, 1000)
MARGIN_MM = 8.5
"""Room around a view's points for labels, arrows and ellipses."""
TITLE_MM = 6.0


@dataclass(frozen=True)
class View:
    """One view: a direction to look along, and where its points land on paper.

    Parameters
    ----------
    title : str
        "seen from the left" and so on.
    across, up : Vector
        Unit directions that run to the right and upwards on paper.
    left_mm, top_mm, width_mm, height_mm : float
        Its frame on paper.
    least : (float, float)
        Smallest across and largest up coordinate that it shows [mm of the vehicle].
    scale : int
        1 : scale.
    """

    title: str
    across: Vector
    up: Vector
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    least: tuple[float, float]
    scale: int

    @property
    def inside(self) -> Rectangle:
        """The frame, a little in from its line."""
        right, bottom = self.left_mm + self.width_mm, self.top_mm + self.height_mm
        return Rectangle(self.left_mm + 0.8, self.top_mm + 0.8, right - 1.2, bottom - 1.2)

    def flat(self, vector: Vector) -> tuple[float, float]:
        """A vector as it runs across and up in this view."""
        return (_dot(self.across, vector), _dot(self.up, vector))

    def spot(self, xyz: Vector) -> tuple[float, float]:
        """Where a point of the vehicle lies on paper, y down."""
        across, up = self.flat(xyz)
        return (
            self.left_mm + MARGIN_MM + (across - self.least[0]) / self.scale,
            self.top_mm + TITLE_MM + MARGIN_MM + (self.least[1] - up) / self.scale,
        )

    def covariance(self, full: Matrix) -> tuple[float, float, float]:
        """Variance across, covariance, variance up of a 3 by 3 covariance in this view."""
        columns = tuple(
            tuple(sum(full[row][k] * axis[k] for k in range(3)) for row in range(3))
            for axis in (self.across, self.up)
        )
        (ax, ay, az), (ux, uy, uz) = columns
        return (
            _dot(self.across, (ax, ay, az)),
            _dot(self.across, (ux, uy, uz)),
            _dot(self.up, (ux, uy, uz)),
        )


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))


@dataclass(frozen=True)
class _Extent:
    low: float
    high: float

    @property
    def size(self) -> float:
        return self.high - self.low


def _extent(points: Sequence[Vector], axis: Vector) -> _Extent:
    values = [_dot(axis, point) for point in points]
    return _Extent(min(values), max(values))


def _fits(width_mm: float, height_mm: float, extents: Sequence[_Extent], scale: int) -> bool:
    x, y, z = extents
    frame = 2 * MARGIN_MM
    wide = (x.size + y.size) / scale + 2 * frame
    high = (z.size + y.size) / scale + 2 * (frame + TITLE_MM)
    return wide <= width_mm and high <= height_mm


def three_views(
    points: Sequence[Vector], *, width_mm: float, height_mm: float, left_side: bool
) -> tuple[View, View, View]:
    """Side view, rear view right of it, and top view under the side view, at one scale.

    Parameters
    ----------
    points : sequence of Vector
        Everything that must be inside the views [mm of the vehicle], at least one.
    width_mm, height_mm : float
        Room on paper; the largest usual scale that fits is taken. [mm]
    left_side : bool
        Whether the side view is seen from the left.
    """
    along: Vector = (1.0, 0.0, 0.0) if left_side else (-1.0, 0.0, 0.0)
    over: Vector = (0.0, 1.0, 0.0) if left_side else (0.0, -1.0, 0.0)
    right: Vector = (0.0, 1.0, 0.0)
    upright: Vector = (0.0, 0.0, 1.0)
    x, y, z = (_extent(points, axis) for axis in (along, over, upright))
    y_rear = _extent(points, right)
    scale = next((s for s in SCALES if _fits(width_mm, height_mm, (x, y, z), s)), SCALES[-1])
    wide_x, wide_y = x.size / scale + 2 * MARGIN_MM, y.size / scale + 2 * MARGIN_MM
    high_z = z.size / scale + 2 * MARGIN_MM + TITLE_MM
    high_y = y.size / scale + 2 * MARGIN_MM + TITLE_MM
    side = "left" if left_side else "right"
    return (
        View(
            f"seen from the {side}",
            along,
            upright,
            0.0,
            0.0,
            wide_x,
            high_z,
            (x.low, z.high),
            scale,
        ),
        View(
            "seen from behind",
            right,
            upright,
            wide_x,
            0.0,
            wide_y,
            high_z,
            (y_rear.low, z.high),
            scale,
        ),
        View(
            "seen from above",
            along,
            over,
            0.0,
            high_z,
            wide_x,
            high_y,
            (x.low, y.high),
            scale,
        ),
    )
