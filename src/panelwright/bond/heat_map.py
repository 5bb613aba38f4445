"""The panel about a joint as a map: how warm it is, lamp by lamp, and how far it grows."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.ensemble import Ensemble
from panelwright.bond.heat import panel_setup
from panelwright.bond.history import places_history
from panelwright.bond.warmth import HeatMap, Outline

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.heat import HeatPlan

    Floats = NDArray[np.float64]

BESIDE_MM = 150.0
"""How far beyond the joint's ends and to its sides the map reaches; what the plate has at most."""
ALONG, ACROSS = 30, 11
"""Cells of the map."""


def _likely(ensemble: Ensemble) -> Ensemble:
    """One member with the mean of every input."""
    return Ensemble((ensemble.weights @ ensemble.normals)[None, :], np.ones(1))


def _edges(plan: HeatPlan, length_mm: float) -> tuple[Floats, Floats]:
    plate = plan.plate
    reach = BESIDE_MM
    if plate is not None:
        reach = min(reach, float(plate.across_mm[-1]), -float(plate.along_mm[0]))
    along = np.linspace(-reach, length_mm + reach, ALONG + 1)
    return along, np.linspace(-reach, reach, ACROSS + 1)


def _stretches(plan: HeatPlan) -> tuple[tuple[float, float], ...]:
    """Stretches in which the same lamps burn, those without a lamp left out."""
    stays = [stay for lamp in plan.lamps for stay in lamp.stays]
    edges = sorted({edge for stay in stays for edge in (stay.from_min, stay.to_min)})
    return tuple(
        (start, end)
        for start, end in itertools.pairwise(edges)
        if any(stay.from_min <= start and end <= stay.to_min for stay in stays)
    )


def heat_maps(
    plan: HeatPlan, ensemble: Ensemble, length_mm: float, expansion: float
) -> tuple[HeatMap, ...]:
    """Maps of a joint at the end of each stretch of lamp time.

    ΔL = α ∫ (T − T_closing) dx   (1)

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    ensemble : Ensemble
        What is known of its inputs.
    length_mm : float
        Of the joint [mm].
    expansion : float
        α of the skin [1/K].

    Returns
    -------
    tuple of HeatMap
        None without a plate or a lamp.
    """
    plate, stretches = plan.plate, _stretches(plan)
    if plate is None or not stretches:
        return ()
    along, across = _edges(plan, length_mm)
    x, y = (0.5 * (edges[1:] + edges[:-1]) for edges in (along, across))
    spots = np.linspace(0.0, length_mm, ALONG + 1)
    grid = np.array([(a, b) for b in y for a in x])
    places = np.vstack([grid, np.column_stack([spots, np.zeros(len(spots))])])
    setup = panel_setup(plan, _likely(ensemble))
    setup = replace(setup, until_min=stretches[-1][1] + 1.0)
    history = places_history(setup, plate, places)
    flange = plate.width_mm[int(np.argmin(np.abs(plate.across_mm)))]
    found = []
    for start, end in stretches:
        now = history.celsius[0, :, int(np.argmin(np.abs(history.minutes - end)))]
        field, line = now[: len(grid)].reshape(len(y), len(x)), now[len(grid) :]
        warm = field - float(setup.start_C[0])
        column = warm[:, int(np.argmax(field.max(axis=0)))]
        cold, hot = int(np.argmin(line)), int(np.argmax(line))
        found.append(
            HeatMap(
                start,
                end,
                _outlines(plan, start, end),
                length_mm,
                float(flange),
                tuple(along.tolist()),
                tuple(across.tolist()),
                tuple(tuple(round(float(t), 2) for t in row) for row in field),
                (float(spots[cold]), float(line[cold])),
                (float(spots[hot]), float(line[hot])),
                (
                    expansion * float(np.trapezoid(line - float(setup.start_C[0]), spots)),
                    expansion * float(np.sum(column * np.diff(across))),
                ),
            )
        )
    return tuple(found)


def _outlines(plan: HeatPlan, start: float, end: float) -> tuple[Outline, ...]:
    return tuple(
        Outline(lamp.lamp, lamp.centre_mm, lamp.size_mm, lamp.distance_mm)
        for lamp in plan.lamps
        if any(stay.from_min <= start and end <= stay.to_min for stay in lamp.stays)
    )
