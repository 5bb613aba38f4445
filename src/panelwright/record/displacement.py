"""How sure a part's displacement is at each of its points, from shift and turn."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.fit.part_answer import PartFit
    from panelwright.record.views import Matrix, Vector

MRAD = 1e-3


def homes(part: PartFit, places: Mapping[str, Vector]) -> dict[str, Vector]:
    """Target positions of a part's points: where each is, less what it is off and its shape.

    Parameters
    ----------
    part : PartFit
    places : mapping of str to Vector
        Adjusted places of points [mm]; a point that is not in it has no target position here.
    """
    found: dict[str, Vector] = {}
    for point in part.points:
        at = places.get(point.id)
        if at is not None:
            x, y, z = (
                a - off - shape
                for a, off, shape in zip(at, point.off_mm, point.shape_mm, strict=True)
            )
            found[point.id] = (x, y, z)
    return found


def _lever(home: Mapping[str, Vector], name: str) -> Vector:
    """From the mean of the homes to one of them."""
    count = len(home)
    x, y, z = (
        home[name][axis] - math.fsum(place[axis] for place in home.values()) / count
        for axis in range(3)
    )
    return (x, y, z)


def covariance_at(part: PartFit, home: Mapping[str, Vector], name: str) -> Matrix | None:
    """Covariance of what shift and turn do at a point [mm²]; None where a motion is not seen.

    The displacement is s + ω × r with r from the mean of the homes, so the covariance is
    J C Jᵀ with J = [I, −[r]×]; the turn stands in milliradians.
    """
    if part.covariance is None:
        return None
    rx, ry, rz = (MRAD * r for r in _lever(home, name))
    jacobian = (
        (1.0, 0.0, 0.0, 0.0, rz, -ry),
        (0.0, 1.0, 0.0, -rz, 0.0, rx),
        (0.0, 0.0, 1.0, ry, -rx, 0.0),
    )
    half = [
        [math.fsum(row[k] * part.covariance[k][c] for k in range(6)) for c in range(6)]
        for row in jacobian
    ]
    rows = [
        [math.fsum(half[i][k] * jacobian[j][k] for k in range(6)) for j in range(3)]
        for i in range(3)
    ]
    (a, b, c), (d, e, f), (g, h, i) = rows
    return ((a, b, c), (d, e, f), (g, h, i))
