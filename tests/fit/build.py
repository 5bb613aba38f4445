"""Networks and repairs for the tests of the fit room."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

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
