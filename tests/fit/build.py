"""Networks and repairs for the tests of the fit room."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.spatial.transform import Rotation

from panelwright.facts.file import document_from
from panelwright.facts.repair import repair_of
from panelwright.fit.datum import adjust
from panelwright.fit.equations import Distances, Equations, Observations, Priors, Projections
from panelwright.fit.geometry import KNOWN, Geometry

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from panelwright.facts.repair import Repair
    from panelwright.fit.datum import Adjusted

    Floats = NDArray[np.float64]


def repair(**tables: Any) -> Repair:
    """A repair of these tables."""
    return repair_of(document_from({"repair": {"name": "test"}, **tables}))


@dataclass(frozen=True)
class Spans:
    """A published network of distances, in metres, and what it publishes."""

    places: Mapping[str, tuple[float, ...]]
    fixed: frozenset[str]
    """Axes such as "x1" that are known."""
    distances: tuple[tuple[str, str, float, float], ...]
    """From, to, distance, sigma."""
    published: Mapping[tuple[str, str], tuple[float, float]]
    """Adjusted coordinate [m] and standard error [cm] by point and axis."""


def as_repair(spans: Spans) -> Repair:
    """The network as a repair file of body points and spans, in millimetres."""
    points = []
    for name, place in spans.places.items():
        flat = len(place) == 2
        xyz = [1000.0 * value for value in place] + [0.0] * flat
        known = [f"{axis}{name}" in spans.fixed for axis in "xyz"]
        if flat:
            known[2] = True
        points.append(
            {"id": name, "xyz": xyz, "u": [0 if is_known else "free" for is_known in known]}
        )
    readings = [
        {"from": a, "to": b, "value": 1000.0 * value, "u": 1000.0 * sigma}
        for a, b, value, sigma in spans.distances
    ]
    return repair(point=points, reading=readings)


def heights(
    start: list[float], known: list[int], differences: list[tuple[int, int, float, float]]
) -> Equations:
    """A levelling network: heights as z of nodes, differences from, to, value, sigma."""
    count = len(start)
    roots = np.zeros((count, 3))
    roots[:, 2] = start
    unknown = np.full((count, 3), KNOWN, dtype=np.intp)
    free = [k for k in range(count) if k not in known]
    unknown[free, 2] = np.arange(len(free))
    rows = np.arange(len(differences))
    up = np.array([0.0, 0.0, 1.0])
    nowhere = np.full(len(differences), KNOWN, dtype=np.intp)
    none = np.zeros(0, dtype=np.intp)
    return Equations(
        Geometry(roots, unknown, (), len(free)),
        Observations(
            np.zeros(len(rows)),
            np.array([value for _, _, value, _ in differences]),
            np.array([sigma for _, _, _, sigma in differences]),
            nowhere,
            nowhere,
        ),
        Distances(none, none, none, np.zeros(0)),
        Projections(
            np.concatenate([rows, rows]),
            np.array([b for _, b, _, _ in differences] + [a for a, _, _, _ in differences]),
            np.concatenate([np.tile(up, (len(rows), 1)), np.tile(-up, (len(rows), 1))]),
        ),
        Priors(none, np.zeros(0)),
    )


def adjusted_heights(equations: Equations) -> Adjusted:
    """Adjust a levelling network from the start it was given."""
    free = equations.geometry.unknown[:, 2] != KNOWN
    start = equations.geometry.roots[free, 2]
    return adjust(equations, start, np.arange(len(equations.geometry.roots)))


BODY = {
    "B1": (2000.0, 750.0, 500.0),
    "B2": (4200.0, 780.0, 600.0),
    "B3": (2200.0, 700.0, 1700.0),
    "B4": (4000.0, 720.0, 1600.0),
    "B5": (2500.0, -300.0, 400.0),
    "B6": (4300.0, -250.0, 1500.0),
}
PANEL = {
    "L1": (2600.0, -850.0, 500.0),
    "L2": (4100.0, -850.0, 550.0),
    "L3": (2700.0, -800.0, 1500.0),
    "L4": (4000.0, -790.0, 1450.0),
}
STATIONS = {
    # place, gap towards, flush towards
    "s1": ((2580.0, -850.0, 700.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
    "s2": ((2650.0, -800.0, 1400.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
    "s3": ((3400.0, -800.0, 1520.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)),
    "s4": ((3900.0, -800.0, 1500.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)),
}


def off_of(shift: Floats, turn: Floats, place: tuple[float, ...]) -> Floats:
    """Exact displacement of a place of the panel: c + R (h − c) + shift − h."""
    c = np.mean(list(PANEL.values()), axis=0)
    h = np.array(place)
    moved: Floats = c + Rotation.from_rotvec(turn).as_matrix() @ (h - c) + shift - h
    return moved


def panel(
    shift_mm: tuple[float, float, float] = (0.0, 0.0, 0.0),
    turn_mrad: tuple[float, float, float] = (0.0, 0.0, 0.0),
    *,
    tolerance: object = 3,
    stations: tuple[str, ...] = ("s1", "s2", "s3", "s4"),
    spans: tuple[tuple[str, str], ...] = (),
) -> dict[str, list[dict[str, Any]]]:
    """Tables of a panel over a known body, with readings that are exact for its pose."""
    shift, turn = np.array(shift_mm), 1e-3 * np.array(turn_mrad)
    tables: dict[str, list[dict[str, Any]]] = {
        "part": [{"id": "outer", "state": "replace"}],
        "point": [{"id": name, "xyz": list(xyz), "u": 0} for name, xyz in BODY.items()]
        + [
            {
                "id": name,
                "on": "outer",
                "xyz": list(xyz),
                "u": 1,
                "home": "xyz",
                "tolerance": tolerance,
            }
            for name, xyz in PANEL.items()
        ],
        "station": [
            {
                "id": name,
                "part": "outer",
                "xyz": list(place),
                "gap_towards": list(gap),
                "flush_towards": list(flush),
                "gap": {"want": 5, "tolerance": 1},
                "flush": {"want": 0, "tolerance": 1},
            }
            for name, (place, gap, flush) in STATIONS.items()
        ],
        "reading": [],
    }
    for name in stations:
        place, gap, flush = STATIONS[name]
        d = off_of(shift, turn, place)
        tables["reading"].append(
            {
                "station": name,
                "gap": 5.0 + float(np.dot(gap, d)),
                "flush": float(np.dot(flush, d)),
            }
        )
    for a, b in spans:
        at = np.array(PANEL[a]) + off_of(shift, turn, PANEL[a])
        tables["reading"].append(
            {"from": a, "to": b, "value": float(np.linalg.norm(at - np.array(BODY[b])))}
        )
    return tables
