"""Numbers for nodes and unknowns, and the arrays that the equations are made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import isinf
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.equations import (
    Distances,
    Equations,
    Heights,
    Observations,
    Priors,
    Projections,
)
from panelwright.fit.geometry import KNOWN, Geometry, PosedPart
from panelwright.fit.homes import SAME, SHEET
from panelwright.fit.settings import ALWAYS
from panelwright.fit.sketch import Node, Sketch
from panelwright.fit.skin_modes import modes_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.network import Pose
    from panelwright.fit.tools import Instrument

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

POSE = 6
"""Unknowns of one pose: three of the shift, three of the turn."""
SLOPE_U = 0.02
"""How much the floor of a bay slopes, standard uncertainty [1]. Common practice, no source."""


@dataclass(frozen=True)
class Numbering:
    """Numbers of nodes and unknowns: root coordinates, then poses, then deviations of shape.

    Parameters
    ----------
    number : mapping
        Number of every node.
    roots : array, shape (k, 3)
        Where the root nodes are or start [mm].
    unknown : array of int, shape (k, 3)
        Unknown of every root axis, or KNOWN.
    posed : tuple of PosedPart
    shape_u : tuple of (unknown, u)
        Priors of the deviations of shape [mm].
    size : int
        Unknowns so far; those of the tools follow.
    """

    number: Mapping[Node, int]
    roots: Floats
    unknown: Indices
    posed: tuple[PosedPart, ...]
    shape_u: tuple[tuple[int, float], ...]
    size: int

    @classmethod
    def of(
        cls,
        roots: tuple[Node, ...],
        places: Mapping[Node, Floats],
        known: Mapping[Node, tuple[bool, bool, bool]],
        poses: tuple[Pose, ...],
    ) -> Numbering:
        """Number everything in the order given."""
        number = {node: k for k, node in enumerate(roots)}
        xyz = np.array([places[node] for node in roots]).reshape(-1, 3)
        free = ~np.array([known.get(node, (False,) * 3) for node in roots], dtype=bool)
        free = free.reshape(-1, 3)
        unknown = np.full(xyz.shape, KNOWN, dtype=np.intp)
        unknown[free] = np.arange(int(free.sum()))
        size = int(free.sum())
        posed: list[PosedPart] = []
        shape_u: list[tuple[int, float]] = []
        for pose in poses:
            part, priors = _posed(pose, number, size)
            size += POSE + int((part.shape != KNOWN).sum())
            part, of_modes = _sprung(part, pose, xyz, size)
            posed.append(part)
            shape_u.extend([*priors, *of_modes])
            size += len(of_modes)
        return cls(number, xyz, unknown, tuple(posed), tuple(shape_u), size)


def _posed(
    pose: Pose, number: dict[Node, int], size: int
) -> tuple[PosedPart, list[tuple[int, float]]]:
    """Number one pose; its nodes are added to `number`."""
    home = [number[h.source] for h in pose.points]
    home += [number[Node(SHEET, ALWAYS, place.id, place=True)] for place in pose.places]
    mirror = [h.mirror for h in pose.points] + [SAME] * len(pose.places)
    shape_u = np.zeros((len(home), 3))
    shape_u[: len(pose.points)] = [h.shape_u_mm for h in pose.points] or np.zeros((0, 3))
    varies = shape_u > 0.0
    shape = np.full(shape_u.shape, KNOWN, dtype=np.intp)
    shape[varies] = size + POSE + np.arange(int(varies.sum()))
    weights = np.array(
        [not pose.centred_on for _ in pose.points] + [p in pose.centred_on for p in pose.places],
        dtype=float,
    )
    first = len(number)
    for point in pose.points:
        number[Node(pose.part, pose.setting, point.point)] = len(number)
    for place in pose.places:
        number[place] = len(number)
    part = PosedPart(
        size,
        first,
        np.array(home, dtype=np.intp),
        np.array(mirror),
        shape,
        weights / weights.sum(),
    )
    priors = zip(shape[varies].tolist(), shape_u[varies].tolist(), strict=True)
    return part, [(unknown, u) for unknown, u in priors if not isinf(u)]


def _sprung(
    part: PosedPart, pose: Pose, roots: Floats, size: int
) -> tuple[PosedPart, list[tuple[int, float]]]:
    """The same part with the modes of its skin, if it has any; their unknowns start at `size`."""
    if pose.spring_u_mm <= 0.0 or not bool((part.home < len(roots)).all()):
        return part, []
    homes = part.mirror * roots[part.home]
    modes = modes_of(homes[part.centre > 0.0], homes)
    there = [bool(np.abs(modes[:, :, k]).max(initial=0.0) > 0.0) for k in range(modes.shape[2])]
    numbers = size - 1 + np.cumsum(there)
    spring = np.where(there, numbers, KNOWN).astype(np.intp)
    priors = [(int(k), pose.spring_u_mm) for k in spring if k != KNOWN]
    return replace(part, spring=spring, modes=modes), priors


def equations_of(numbering: Numbering, sketches: tuple[Sketch, ...]) -> Equations:
    """The equations of sketches, in their order, with the priors of shapes and tools.

    Parameters
    ----------
    numbering : Numbering
    sketches : tuple of Sketch
        They become the observations, in this order.

    Returns
    -------
    Equations
    """
    scale = _tool_unknowns(sketches, "scale_u", numbering.size)
    offset = _tool_unknowns(sketches, "offset_u_mm", numbering.size + len(scale))
    priors = [
        *numbering.shape_u,
        *((unknown, tool.scale_u) for unknown, tool in scale.values()),
        *((unknown, tool.offset_u_mm) for unknown, tool in offset.values()),
    ]
    size = numbering.size + len(scale) + len(offset)
    levels = {
        tool: size + 3 * k
        for k, tool in enumerate(dict.fromkeys(_level(s) for s in sketches if s.levelled))
    }
    priors += [(first + k, SLOPE_U) for first in levels.values() for k in (1, 2)]
    geometry = Geometry(numbering.roots, numbering.unknown, numbering.posed, size + 3 * len(levels))
    return Equations(
        geometry,
        _observations(sketches, scale, offset, levels),
        _distances(numbering.number, sketches),
        _projections(numbering.number, sketches),
        Priors(_indices([unknown for unknown, _ in priors]), np.array([u for _, u in priors])),
        heights=_heights(numbering.number, sketches, levels),
    )


def _level(sketch: Sketch) -> str:
    """The level that a height was read with."""
    return sketch.spread.tool.id if sketch.spread.tool is not None else ""


def _heights(
    number: Mapping[Node, int], sketches: tuple[Sketch, ...], levels: Mapping[str, int]
) -> Heights | None:
    """Heights read along the upright of a level; its unknowns are its offset and two slopes."""
    if not levels:
        return None
    rows = [
        (row, number[sketch.levelled], levels[_level(sketch)])
        for row, sketch in enumerate(sketches)
        if sketch.levelled is not None
    ]
    first = _indices([level for _, _, level in rows])
    return Heights(
        _indices([row for row, _, _ in rows]),
        _indices([node for _, node, _ in rows]),
        first[:, None] + np.array([1, 2]),
    )


def _indices(numbers: list[int]) -> Indices:
    return np.array(numbers, dtype=np.intp)


def _tool_unknowns(
    sketches: tuple[Sketch, ...], field: str, first: int
) -> Mapping[str, tuple[int, Instrument]]:
    """Unknowns of the tools that share an error of this kind."""
    sharing = {
        sketch.spread.tool.id: sketch.spread.tool
        for sketch in sketches
        if sketch.spread.tool is not None and getattr(sketch.spread.tool, field) > 0.0
    }
    return {id_: (first + k, tool) for k, (id_, tool) in enumerate(sharing.items())}


def _observations(
    sketches: tuple[Sketch, ...],
    scale: Mapping[str, tuple[int, Instrument]],
    offset: Mapping[str, tuple[int, Instrument]],
    levels: Mapping[str, int],
) -> Observations:
    def of_tool(sketch: Sketch, shared: Mapping[str, tuple[int, Instrument]], field: str) -> int:
        tool = sketch.spread.tool
        if tool is None or tool.id not in shared or getattr(tool, field) == 0.0:
            return KNOWN
        return shared[tool.id][0]

    return Observations(
        np.array([sketch.constant_mm for sketch in sketches]),
        np.array([sketch.observed_mm for sketch in sketches]),
        np.array([sketch.spread.u_mm for sketch in sketches]),
        _indices([of_tool(sketch, scale, "scale_u") for sketch in sketches]),
        _indices(
            [
                of_tool(sketch, offset, "offset_u_mm")
                if sketch.levelled is None
                else levels[_level(sketch)]
                for sketch in sketches
            ]
        ),
        np.array([sketch.spread.scale_by for sketch in sketches]),
        np.array([sketch.spread.offset_by for sketch in sketches]),
    )


def _distances(number: Mapping[Node, int], sketches: tuple[Sketch, ...]) -> Distances:
    terms = [
        (row, number[a], number[b], sign)
        for row, sketch in enumerate(sketches)
        for sign, a, b in sketch.distances
    ]
    return Distances(
        _indices([row for row, _, _, _ in terms]),
        _indices([a for _, a, _, _ in terms]),
        _indices([b for _, _, b, _ in terms]),
        np.array([sign for _, _, _, sign in terms]),
    )


def _projections(number: Mapping[Node, int], sketches: tuple[Sketch, ...]) -> Projections:
    terms = [
        (row, number[node], along)
        for row, sketch in enumerate(sketches)
        for node, along in sketch.projections
    ]
    return Projections(
        _indices([row for row, _, _ in terms]),
        _indices([node for _, node, _ in terms]),
        np.array([along for _, _, along in terms]).reshape(-1, 3),
    )
