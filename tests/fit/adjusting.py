"""A panel on adjusters, and what a second route says of it: exact poses, all steps tried."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.spatial.transform import Rotation
from tests.fit.build import PANEL, STATIONS, off_of, panel, repair

from panelwright.fit import answer

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.answer import Answer

    Floats = NDArray[np.float64]

SEATS = {
    # three across, two in height, one fore and aft: they fix the six motions of a panel
    "y1": ((2650.0, -850.0, 520.0), (0.0, 1.0, 0.0)),
    "y2": ((4050.0, -850.0, 560.0), (0.0, 1.0, 0.0)),
    "y3": ((3300.0, -800.0, 1480.0), (0.0, 1.0, 0.0)),
    "z1": ((2700.0, -850.0, 500.0), (0.0, 0.0, 1.0)),
    "z2": ((4000.0, -850.0, 550.0), (0.0, 0.0, 1.0)),
    "x1": ((2600.0, -840.0, 900.0), (1.0, 0.0, 0.0)),
}
WIDE = (-20.0, 20.0)
HELD = (0.0, 0.0)


def seat(name: str, reach: tuple[float, float] = WIDE, **more: Any) -> dict[str, Any]:
    """One adjuster of the panel."""
    xyz, along = SEATS[name]
    return {
        "id": name,
        "part": "outer",
        "xyz": list(xyz),
        "along": list(along),
        "range": list(reach),
        **more,
    }


def ask(tables: dict[str, Any]) -> Answer:
    return answer(repair(**tables))


def seated(
    shift_mm: tuple[float, float, float],
    turn_mrad: tuple[float, float, float],
    adjusters: list[dict[str, Any]],
    **more: Any,
) -> dict[str, Any]:
    """A panel read exactly at a pose, with adjusters; the seats that are not named are held."""
    named = {adjuster.get("id") for adjuster in adjusters}
    held = [seat(name, HELD) for name in SEATS if name not in named]
    return {**panel(shift_mm, turn_mrad, **more), "adjuster": [*adjusters, *held]}


def home_of(shift_mm: object, turn_mrad: object, place: Floats) -> Floats:
    """Displacement that takes a place of the panel, where it is now, to where it belongs."""
    c = np.mean(list(PANEL.values()), axis=0)
    turn = Rotation.from_rotvec(1e-3 * np.array(turn_mrad))
    back: Floats = c + turn.inv().apply(place - c - np.array(shift_mm)) - place
    return back


def judged(shift_mm: object, turn_mrad: object) -> list[tuple[Floats, Floats | None, float]]:
    """Everything with a tolerance: place now, direction (None: a distance), tolerance."""
    shift, turn = np.array(shift_mm), 1e-3 * np.array(turn_mrad)
    found: list[tuple[Floats, Floats | None, float]] = [
        (np.array(place) + off_of(shift, turn, place), None, 3.0) for place in PANEL.values()
    ]
    for place, gap, flush in STATIONS.values():
        now = np.array(place) + off_of(shift, turn, place)
        found += [(now, np.array(gap), 1.0), (now, np.array(flush), 1.0)]
    return found


def worst_of(shift_mm: object, turn_mrad: object, rotation: Rotation, moved: Floats) -> Floats:
    """Largest |off| / tolerance after motions p → R p + moved, shape (n,), of many motions."""
    worst = np.zeros(len(moved))
    for now, direction, tolerance in judged(shift_mm, turn_mrad):
        off = rotation.apply(np.tile(now, (len(moved), 1))) + moved
        off -= now + home_of(shift_mm, turn_mrad, now)
        size = np.linalg.norm(off, axis=1) if direction is None else np.abs(off @ direction)
        worst = np.maximum(worst, size / tolerance)
    return worst


def poses_on_seats(changes: Floats) -> tuple[Rotation, Floats]:
    """The motions p → R p + moved that displace the six seats by these, shape (n, 6)."""
    places = np.array([xyz for xyz, _ in SEATS.values()])
    along = np.array([direction for _, direction in SEATS.values()])
    rotation = Rotation.from_rotvec(np.zeros((len(changes), 3)))
    moved = np.zeros((len(changes), 3))
    for _ in range(6):
        turned = np.stack([rotation.apply(np.tile(p, (len(changes), 1))) for p in places], axis=1)
        miss = changes - np.sum((turned + moved[:, None] - places) * along, axis=2)
        slopes = np.concatenate(
            [np.cross(turned, along[None]), np.broadcast_to(along, turned.shape)], axis=2
        )
        step = np.linalg.solve(slopes, miss[:, :, None])[:, :, 0]
        rotation = Rotation.from_rotvec(step[:, :3]) * rotation
        moved = Rotation.from_rotvec(step[:, :3]).apply(moved) + step[:, 3:]
    return rotation, moved


def all_steps(
    steps: dict[str, tuple[float, tuple[float, float]]],
) -> NDArray[np.float64]:
    """Every change of the six seats, shape (n, 6); seats that are not named stay."""
    each = []
    for name in SEATS:
        step, (low, high) = steps.get(name, (1.0, (0.0, 0.0)))
        first, last = int(np.ceil(low / step)), int(np.floor(high / step))
        each.append([k * step for k in range(first, last + 1)])
    return np.array(list(product(*each)))
