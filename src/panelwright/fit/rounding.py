"""Readings rounded more coarsely than their tool is said to read.

A gauge that is said to read to 0.2 mm but is noted in sixteenths of an inch makes every answer look
surer than it is. The steps show in the values: all of them are whole steps.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panelwright.fit.notes import left_out
from panelwright.fit.sketch import Kind
from panelwright.fit.tools import Instrument, rounding_u_mm
from panelwright.quantities import Length, show_length

if TYPE_CHECKING:
    from panelwright.facts.problem import Problem
    from panelwright.facts.repair import Repair
    from panelwright.fit.sketch import Sketch

STEPS = ("1/2 in", "10 mm", "1/4 in", "5 mm", "1/8 in", "1/16 in", "1 mm", "1/32 in", "0.5 mm")
"""Steps that scales are read to, coarsest first. Common practice, no source."""
ENOUGH = 6
"""Fewer readings may be whole steps by chance; and at least three of them must differ."""
_DISTINCT = 3
MATTERS = 0.5
"""Rounding that adds less than this share of u makes answers surer by a tenth at most."""
_ALIKE_MM = 1e-6


def coarse_problems(repair: Repair, sketches: tuple[Sketch, ...]) -> Iterator[Problem]:
    """Ask for the resolution of tools whose readings are rounded more than their u covers.

    Parameters
    ----------
    repair : Repair
    sketches : tuple of Sketch
        The equations of its readings; others are passed over.

    Yields
    ------
    Problem
        One for each tool; the readings count all the same.
    """
    told = {tool.id for tool in repair.tools if tool.resolution.mm > 0.0}
    values: dict[str, list[float]] = {}
    by_id: dict[str, Instrument] = {}
    for sketch in sketches:
        tool = sketch.spread.tool
        if tool is None or tool.id in told or not _is_number_by_tool(repair, sketch, tool):
            continue
        by_id[tool.id] = tool
        values.setdefault(tool.id, []).append(sketch.observed_mm)
    for id_, read in values.items():
        step = coarsest_step(read)
        if step is None:
            continue
        added_mm, u_mm = rounding_u_mm(Length.parse(step).mm), by_id[id_].u_mm
        if added_mm > MATTERS * u_mm:
            yield left_out(
                f"tool {id_}",
                f"all {len(read)} readings are whole steps of {step}, which adds "
                f"{show_length(added_mm)} to its u of {show_length(u_mm)} and is not counted: "
                f'write resolution = "{step}" for this tool',
            )


def _is_number_by_tool(repair: Repair, sketch: Sketch, tool: Instrument) -> bool:
    """Whether a number was read and has the tool's own uncertainty."""
    if sketch.kind is not Kind.READING or sketch.index < 0 or sketch.in_words:
        return False
    return repair.readings[sketch.index].u is None and sketch.spread.u_mm == tool.u_mm


def coarsest_step(values_mm: list[float]) -> str | None:
    """Coarsest step of STEPS of which all values are whole multiples; None where there is none.

    Parameters
    ----------
    values_mm : list of float
        [mm]

    Returns
    -------
    str or None
        As written in STEPS; None too where there are too few values to tell.

    Examples
    --------
    >>> coarsest_step([3.0, 5.0, 4.0, 12.0, 7.0, 1834.0])
    '1 mm'
    """
    if len(values_mm) < ENOUGH or len(set(values_mm)) < _DISTINCT:
        return None
    for step in STEPS:
        step_mm = Length.parse(step).mm
        if all(abs(v - step_mm * round(v / step_mm)) < _ALIKE_MM for v in values_mm):
            return step
    return None
