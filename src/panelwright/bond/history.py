"""Temperature history of a joint: a plate where a lamp heats it, else spot by spot."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.panel import PanelHistory, PanelSetup, panel_history, time_grid
from panelwright.bond.plate import Plate
from panelwright.bond.plate_heat import Stretch, run
from panelwright.bond.plate_modes import modes_of
from panelwright.bond.radiation import STEFAN_BOLTZMANN
from panelwright.bond.rows import ZERO_CELSIUS

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from panelwright.bond.plate_modes import Modes

    Floats = NDArray[np.float64]

MOST_MODES = (14, 9)
"""Along and across; what a lamp from 200 mm away heats is smoother than they are."""
LONGEST_STEP_MIN = 4.0


def temperature_history(setup: PanelSetup) -> PanelHistory:
    """Temperature history of every spot of a joint for every member of an ensemble.

    Parameters
    ----------
    setup : PanelSetup
        With a plate, heat flows along the sheets; without one, or without a lamp, it does not.

    Returns
    -------
    PanelHistory
        With times at every switch of a lamp.
    """
    if setup.plate is None or not setup.lamps:
        return panel_history(setup)
    return plate_history(setup, setup.plate)


def plate_history(
    setup: PanelSetup, plate: Plate, most: tuple[int, int] | None = MOST_MODES
) -> PanelHistory:
    """The same on a plate whose overlap has its middle at 0 across.

    C ∂T/∂t = ∇·(κ∇T) + Σ α G − q_conv(T − T_air) − εσ(T⁴ − T_walls⁴)   (1)

    Parameters
    ----------
    setup : PanelSetup
    plate : Plate
    most : tuple of int, or None
        Modes along and across; None: all.

    Returns
    -------
    PanelHistory

    References
    ----------
    `panelwright.bond.plate`, `panelwright.bond.plate_heat`.
    """
    places = np.column_stack([setup.spots_mm, np.zeros(len(setup.spots_mm))])
    return places_history(setup, plate, places, most)


def places_history(
    setup: PanelSetup,
    plate: Plate,
    places_mm: Floats,
    most: tuple[int, int] | None = MOST_MODES,
) -> PanelHistory:
    """The same at any places of the plate.

    Parameters
    ----------
    setup, plate, most
        As for `plate_history`.
    places_mm : array, shape (s, 2)
        Along the joint and across it [mm].

    Returns
    -------
    PanelHistory
        With the places for spots.
    """
    switches = sorted(
        {edge for lamp in setup.lamps for stay in lamp.stays for edge in stay if edge > 0.0}
    )
    minutes = time_grid(switches, setup.until_min, LONGEST_STEP_MIN)
    modes = modes_of(plate, most)
    celsius = run(
        modes,
        _stretches(setup, modes, switches, places_mm),
        loss_of(setup),
        setup.start_C,
        60.0 * minutes,
        modes.at(places_mm),
    )
    return PanelHistory(minutes, celsius)


def _stretches(
    setup: PanelSetup, modes: Modes, switches: list[float], places_mm: Floats
) -> tuple[Stretch, ...]:
    """What the lamps that burn between two switches give to the modes, and beyond them."""
    x, y = np.meshgrid(modes.plate.along_mm, modes.plate.across_mm, indexing="ij")
    flux = np.concatenate(
        [lamp.absorbed(x.ravel(), y.ravel()).T.reshape(*x.shape, -1) for lamp in setup.lamps], 2
    )
    lamps = len(setup.lamps)
    given = modes.project(flux).reshape(*modes.rate.shape, lamps, -1)
    added = modes.left_out(flux, places_mm).reshape(len(places_mm), lamps, -1)
    found = []
    edges = [0.0, *switches]
    for start, end in itertools.pairwise(edges):
        on = [n for n, lamp in enumerate(setup.lamps) if lamp.on_at((start + end) / 2)]
        if on:
            sources, more = given[:, :, on].sum(axis=2), added[:, on].sum(axis=1)
            found.append(Stretch(60.0 * start, 60.0 * end, sources, more))
    return tuple(found)


def loss_of(setup: PanelSetup) -> Callable[[Floats], Floats]:
    """What both faces lose at cell temperatures.

    Parameters
    ----------
    setup : PanelSetup
        Of one member, or of the m members that the cells are of.

    Returns
    -------
    callable
        From temperatures, shape (i, j, m) [°C], to losses of the same shape [W/m²].
    """
    strength = STEFAN_BOLTZMANN * setup.emissivity
    walls = strength * (setup.surroundings_C + ZERO_CELSIUS) ** 4

    def loss(celsius: Floats) -> Floats:
        out, _ = setup.convection.at(celsius - setup.air_C)
        out *= setup.convection_factor
        square = (celsius + ZERO_CELSIUS) ** 2
        out += strength * square * square - walls
        if setup.back is not None:
            out += setup.back.at(celsius - setup.air_C)[0]
        return out

    return loss
