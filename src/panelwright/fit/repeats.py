"""The same thing read again with the same tool: what the scatter says of readings and tool.

Every reading counts in the network by itself, which combines repeats as their mean does. Here their
scatter is held against what the tool is said to scatter, and a shop's repeats teach its tools.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import gcd, sqrt
from typing import TYPE_CHECKING

from panelwright.fit.reading_answer import LearntTool, Repeat
from panelwright.fit.sketch import Kind
from panelwright.fit.snooping import chi_square_quantile

if TYPE_CHECKING:
    from panelwright.fit.sketch import Sketch
    from panelwright.fit.tools import Instrument

PRIOR_DOF = 5.0
"""How many repeats the program's own figure of a tool is worth. Common practice, no source."""
NOT_THE_SAME = 0.99
"""Repeats scatter too much where chance alone would do so in 1 of 100 such groups."""
_FINEST_MM = 1e-4
_ENOUGH_DOF = 3
_WORTH_SAYING = 0.2
"""A learnt uncertainty that differs by less is not worth a change."""


@dataclass(frozen=True)
class Group:
    """Readings of one thing with one tool [mm]."""

    tool: str
    values_mm: tuple[float, ...]

    @property
    def mean_mm(self) -> float:
        """Their mean."""
        return sum(self.values_mm) / len(self.values_mm)

    @property
    def squares_mm2(self) -> float:
        """Squared deviations from the mean, summed."""
        mean = self.mean_mm
        return sum((value - mean) ** 2 for value in self.values_mm)

    @property
    def dof(self) -> int:
        """Degrees of freedom."""
        return len(self.values_mm) - 1


@dataclass(frozen=True)
class Learnt:
    """What repeats say of a tool: of them alone, and together with what was known before.

    Parameters
    ----------
    u_mm : float
        Together.
    dof : float
        Of `u_mm`.
    repeats_u_mm : float
        Pooled standard deviation of the repeats.
    repeats_dof : int
    """

    u_mm: float
    dof: float
    repeats_u_mm: float
    repeats_dof: int


def learn(groups: Iterable[Group], prior_u_mm: float, prior_dof: float = PRIOR_DOF) -> Learnt:
    """Standard uncertainty of a tool from repeats, of one repair or of all that a shop made.

    Pooled variance s² = Σ (x − mean)² / Σ (n − 1); with what was known before
    u² = (ν₀ u₀² + ν s²) / (ν₀ + ν). What the scale of the tool cannot show, a step/√12, is kept.

    Parameters
    ----------
    groups : iterable of Group
        Repeats of one tool, two readings or more in each.
    prior_u_mm : float
        What is known before, above 0 [mm].
    prior_dof : float
        How many repeats that is worth; 0: nothing [-].

    Returns
    -------
    Learnt

    References
    ----------
    ISO 5725-2, pooled repeatability variance; A. Gelman et al., Bayesian Data Analysis, 3rd ed.,
    2013, 2.6: normal data with a scaled inverse-χ² prior (both from memory).

    Examples
    --------
    >>> round(learn([Group("tape", (10.0, 12.0))], 1.0, prior_dof=1.0).u_mm, 4)
    1.2247
    """
    told = [group for group in groups if group.dof > 0]
    dof = sum(group.dof for group in told)
    squares = sum(group.squares_mm2 for group in told)
    pooled = sqrt(squares / dof) if dof else 0.0
    total = prior_dof + dof
    u_mm = sqrt((prior_dof * prior_u_mm**2 + squares) / total) if total > 0.0 else prior_u_mm
    floor = step_mm([value for group in told for value in group.values_mm]) / sqrt(12.0)
    return Learnt(max(u_mm, floor), total, pooled, dof)


def step_mm(values_mm: Iterable[float]) -> float:
    """The step in which values were written down: their greatest common divisor, at most 1 mm.

    Parameters
    ----------
    values_mm : iterable of float
        [mm]

    Returns
    -------
    float
        [mm]; 0 where there are none.

    Examples
    --------
    >>> step_mm([1834.0, 1835.5])
    0.5
    """
    whole = [round(value / _FINEST_MM) for value in values_mm]
    common = gcd(*whole) * _FINEST_MM if whole else 0.0
    return min(round(common, 4), 1.0)


def groups_of(sketches: tuple[Sketch, ...]) -> Mapping[tuple[object, ...], list[Sketch]]:
    """Readings of the same thing with the same tool in the same setting, two or more.

    Parameters
    ----------
    sketches : tuple of Sketch

    Returns
    -------
    mapping
        By what was read and with what, in the order of the file.
    """
    found: dict[tuple[object, ...], list[Sketch]] = {}
    for sketch in sketches:
        if sketch.kind is Kind.READING and not sketch.in_words:
            found.setdefault(_same(sketch), []).append(sketch)
    return {key: group for key, group in found.items() if len(group) > 1}


def _same(sketch: Sketch) -> tuple[object, ...]:
    tool = sketch.spread.tool
    terms = sorted((sign, *sorted((a, b))) for sign, a, b in sketch.distances)
    along = tuple(sketch.projections)
    corrected = tuple(sorted((c.kind, round(c.by_mm, 6)) for c in sketch.corrections))
    edges = corrected if any(kind == "edge" for kind, _ in corrected) else ()
    name = tool.id if tool is not None else ""
    return (name, sketch.component, *terms, along, sketch.levelled, edges)


def repeats_of(sketches: tuple[Sketch, ...]) -> tuple[Repeat, ...]:
    """Mean, scatter and test of everything that was read more than once.

    Parameters
    ----------
    sketches : tuple of Sketch

    Returns
    -------
    tuple of Repeat
        In the order of the file.
    """
    return tuple(_repeat(group) for group in groups_of(sketches).values())


def _repeat(group: list[Sketch]) -> Repeat:
    tool = group[0].spread.tool
    values = tuple(sketch.observed_mm for sketch in group)
    said = Group(tool.id if tool is not None else "", values)
    weights = [1.0 / sketch.spread.u_mm**2 for sketch in group]
    mean = sum(w * value for w, value in zip(weights, values, strict=True)) / sum(weights)
    statistic = sum(w * (value - mean) ** 2 for w, value in zip(weights, values, strict=True))
    high = chi_square_quantile(NOT_THE_SAME, said.dof)
    spread_mm = sqrt(said.squares_mm2 / said.dof)
    u_mm = sqrt(1.0 / sum(weights))
    ok = statistic <= high
    by = f" with {said.tool}" if said.tool else ""
    words = (
        f"{group[0].words}, read {len(group)} times{by}: mean {mean:.2f} mm, scatter "
        f"{spread_mm:.2f} mm, mean good to {u_mm:.2f} mm"
    )
    if not ok:
        words += (
            f"; that is more scatter than u {group[0].spread.u_mm:g} mm allows: one of them is "
            "misread or slipped, read it again"
        )
    indices = tuple(sketch.index for sketch in group)
    component = group[0].component
    about = group[0].words
    return Repeat(
        indices, component, about, said.tool, mean, spread_mm, u_mm, statistic, high, ok, words
    )


def learnt_tools(
    sketches: tuple[Sketch, ...], tools: Mapping[str, Instrument], *, prior_dof: float = PRIOR_DOF
) -> tuple[LearntTool, ...]:
    """What the repeats of this repair say of each tool, beside what the program uses.

    Parameters
    ----------
    sketches : tuple of Sketch
    tools : mapping
        Tools by id.
    prior_dof : float
        How many repeats the program's figure is worth [-].

    Returns
    -------
    tuple of LearntTool
        Tools with repeats whose readings have the tool's own u.
    """
    by_tool: dict[str, list[Group]] = {}
    for group in groups_of(sketches).values():
        tool = group[0].spread.tool
        if tool is not None:
            values = tuple(s.observed_mm for s in group if not s.corrections)
            if len(values) > 1:
                by_tool.setdefault(tool.id, []).append(Group(tool.id, values))
    return tuple(
        _learnt(tools[id_], groups, prior_dof) for id_, groups in by_tool.items() if id_ in tools
    )


def _learnt(tool: Instrument, groups: list[Group], prior_dof: float) -> LearntTool:
    found = learn(groups, tool.u_mm, prior_dof)
    readings = sum(len(group.values_mm) for group in groups)
    words = (
        f"{tool.id}: your repeats say {found.repeats_u_mm:.2g} mm ({readings} readings), the "
        f"program uses {tool.u_mm:g} mm"
    )
    differs = abs(found.u_mm / tool.u_mm - 1.0) > _WORTH_SAYING
    proposal: tuple[tuple[str, str], ...] = ()
    if differs and found.repeats_dof >= _ENOUGH_DOF:
        words += f"; together {found.u_mm:.2g} mm: say so at [[tool]] {tool.id} if that is right"
        proposal = _proposal(tool, found, readings)
    elif found.repeats_dof < _ENOUGH_DOF:
        words += "; too few to tell, repeat some more"
    else:
        words += "; they agree"
    return LearntTool(
        tool.id,
        tool.u_mm,
        found.repeats_u_mm,
        readings,
        found.u_mm,
        found.dof,
        words,
        proposal,
    )


def _proposal(tool: Instrument, found: Learnt, readings: int) -> tuple[tuple[str, str], ...]:
    """The keys of the `[[tool]]` that would take it over."""
    keys = [("id", tool.id), ("u", f"{found.u_mm:.2g} mm")]
    if tool.kind and tool.kind != tool.id:
        keys.append(("kind", tool.kind))
    if tool.tape_class:
        keys.append(("class", tool.tape_class))
    elif tool.offset_u_mm > 0.0:
        keys.append(("offset_u", f"{tool.offset_u_mm:g} mm"))
    if tool.scale_u > 0.0:
        keys.append(("scale_u", f"{tool.scale_u:g}"))
    keys.append(("source", f"{readings} repeats with prior worth {PRIOR_DOF:g}"))
    return tuple(keys)
