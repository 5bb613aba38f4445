"""Temperature of a joint: from its heat set-up to its temperature history, spot by spot.

Each spot along the joint is lumped: two sheets and the adhesive share one temperature, and no
heat flows along the sheet. That is so where nothing heats one place alone; under a lamp the plate
of `panelwright.bond.history` takes its place.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.beam import lamp_factor
from panelwright.bond.loss import ConvectiveLoss
from panelwright.bond.radiation import STEFAN_BOLTZMANN, irradiance
from panelwright.bond.rows import ZERO_CELSIUS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from panelwright.bond.cavity import BackLoss
    from panelwright.bond.plate import Plate

FIRST_STEP_MIN = 0.1
STEP_GROWTH = 1.15
LONGEST_STEP_MIN = 1.0
LATE_AFTER_MIN = 180.0
"""After a switch the panel is steady by then, and steps may grow without bound."""


@dataclass(frozen=True)
class LampSetup:
    """One lamp before a joint, for each of m members of an ensemble.

    Parameters
    ----------
    radiant_W : array, shape (m,)
        Power that leaves the aperture as radiation [W].
    distance_mm : array, shape (m,)
        Aperture to panel, above 0 [mm].
    size_mm : tuple of float
        Aperture along and across the joint [mm].
    centre_mm : tuple of float
        Its centre along the joint and across it [mm].
    absorptivity : array, shape (m,)
        Of the panel in the lamp's band [-].
    stays : tuple of (float, float)
        When it is on, minutes after closing.
    lobe : float
        Exponent of its beam; 1: evenly bright and diffuse [-].
    """

    radiant_W: NDArray[np.float64]
    distance_mm: NDArray[np.float64]
    size_mm: tuple[float, float]
    centre_mm: tuple[float, float]
    absorptivity: NDArray[np.float64]
    stays: tuple[tuple[float, float], ...]
    lobe: float = 1.0

    def absorbed(
        self, spots_mm: NDArray[np.float64], across_mm: NDArray[np.float64] | float = 0.0
    ) -> NDArray[np.float64]:
        """What places absorb while it is on, shape (m, s) [W/m²].

        Parameters
        ----------
        spots_mm : array, shape (s,)
            Along the joint [mm].
        across_mm : float or array, shape (s,)
            Across it [mm].
        """
        factor = lamp_factor(
            along=spots_mm[None, :] - self.centre_mm[0],
            across=across_mm - self.centre_mm[1],
            distance=self.distance_mm[:, None],
            size=self.size_mm,
            lobe=self.lobe,
        )
        aperture_m2 = self.size_mm[0] * self.size_mm[1] * 1e-6
        received = irradiance(factor, radiant_W=self.radiant_W[:, None], aperture_m2=aperture_m2)
        return self.absorptivity[:, None] * received

    def on_at(self, minute: float) -> bool:
        """Whether it is on at a minute."""
        return any(start <= minute < end for start, end in self.stays)


@dataclass(frozen=True)
class PanelSetup:
    """All that a joint's temperature history follows from, for each of m members.

    Parameters
    ----------
    spots_mm : array, shape (s,)
        Places along the joint [mm].
    air_C, surroundings_C, start_C : array, shape (m,)
        Air, walls, and the panel when the joint was closed [°C].
    heat_capacity : float
        Of sheets and adhesive together, above 0 [J/(m² K)].
    emissivity : array, shape (m,)
        Long wave, front and back added up, 0 to 2 [-].
    convection : ConvectiveLoss
        Of both faces in still air.
    convection_factor : array, shape (m,)
        By which the members differ from it [-].
    lamps : tuple of LampSetup
    until_min : float
        The history reaches at least this far [min].
    plate : Plate or None
        The panel about the joint, whose overlap has its middle at 0 across; None: no conduction.
    back : BackLoss or None
        Into a closed box behind it; `emissivity` and `convection` are then those of the front.
    """

    spots_mm: NDArray[np.float64]
    air_C: NDArray[np.float64]
    surroundings_C: NDArray[np.float64]
    start_C: NDArray[np.float64]
    heat_capacity: float
    emissivity: NDArray[np.float64]
    convection: ConvectiveLoss
    convection_factor: NDArray[np.float64]
    lamps: tuple[LampSetup, ...]
    until_min: float
    plate: Plate | None = None
    back: BackLoss | None = None


@dataclass(frozen=True)
class PanelHistory:
    """Temperatures along a joint from its closing on.

    Parameters
    ----------
    minutes : array, shape (n,)
        After closing, rising from 0 [min].
    celsius : array, shape (m, s, n)
        Temperature of each member's spots [°C].
    """

    minutes: NDArray[np.float64]
    celsius: NDArray[np.float64]


def areal_heat_capacity(layers: Iterable[tuple[float, float, float]]) -> float:
    """Heat capacity of a stack for each square metre.

    C = Σ ρ c t   (1)

    Parameters
    ----------
    layers : iterable of (float, float, float)
        Density [kg/m³], specific heat [J/(kg K)] and thickness [mm] of each layer.

    Returns
    -------
    float
        C [J/(m² K)].

    References
    ----------
    Incropera 6th ed., section 5.1 (lumped capacitance).

    Examples
    --------
    Two sheets of 1 mm and 0.25 mm of adhesive: 5.35 kJ/(m² K).

    >>> areal_heat_capacity([(2700, 900, 1.0), (1300, 1500, 0.25), (2700, 900, 1.0)])
    5347.5
    """
    return sum(density * heat * thickness * 1e-3 for density, heat, thickness in layers)


def time_grid(
    switches: Sequence[float],
    until_min: float,
    longest_min: float = LONGEST_STEP_MIN,
    *,
    first_min: float = FIRST_STEP_MIN,
    growth: float = STEP_GROWTH,
) -> NDArray[np.float64]:
    """Times that hold every switch of a lamp and are dense after each, shape (n,) [min].

    Parameters
    ----------
    switches : sequence of float
        When something changes, at or after 0 [min].
    until_min : float
        End, above 0 [min].
    longest_min : float
        Longest step until the panel is steady [min].
    first_min : float
        First step after each switch [min].
    growth : float
        Of each step over the one before, above 1 [-].

    Returns
    -------
    array, shape (n,)
        Rising from 0 to `until_min` [min].

    References
    ----------
    Own choice of steps; the error that it leaves is measured in the tests.

    Examples
    --------
    >>> grid = time_grid([10.0], 20.0)
    >>> float(grid[0]), 10.0 in grid, float(grid[-1])
    (0.0, True, 20.0)
    """
    edges = sorted({0.0, until_min, *(s for s in switches if 0.0 < s < until_min)})
    times = [0.0]
    for start, end in itertools.pairwise(edges):
        step, now = first_min, start
        while now + 1.5 * step < end:
            now += step
            times.append(now)
            longest = now - start if now - start > LATE_AFTER_MIN else longest_min
            step = min(step * growth, longest)
        times.append(end)
    return np.array(times)


def _step(
    setup: PanelSetup, now_C: NDArray[np.float64], absorbed: NDArray[np.float64], seconds: float
) -> NDArray[np.float64]:
    """One step of the exponential Rosenbrock–Euler method, order 2 and exact for a linear loss."""
    convected, slope = setup.convection.at(now_C - setup.air_C[:, None])
    factor, emissivity = setup.convection_factor[:, None], setup.emissivity[:, None]
    T = now_C + ZERO_CELSIUS
    cube = STEFAN_BOLTZMANN * emissivity * T * T * T
    walls = (setup.surroundings_C + ZERO_CELSIUS)[:, None] ** 4
    radiated = cube * T - STEFAN_BOLTZMANN * emissivity * walls
    lost, steeper = factor * convected + radiated, factor * slope + 4.0 * cube
    if setup.back is not None:
        behind, rise = setup.back.at((now_C - setup.air_C[:, None]).T)
        lost, steeper = lost + behind.T, steeper + rise.T
    rate = (absorbed - lost) / setup.heat_capacity
    stiffness = np.maximum(steeper / setup.heat_capacity, 1e-12)
    return now_C - np.expm1(-stiffness * seconds) / stiffness * rate


def panel_history(setup: PanelSetup) -> PanelHistory:
    """Temperature history of every spot of a joint for every member of an ensemble.

    C dT/dt = Σ α G(x) − q_conv(T − T_air) − εσ(T⁴ − T_walls⁴)   (1)

    Parameters
    ----------
    setup : PanelSetup
        What the history follows from.

    Returns
    -------
    PanelHistory
        With times at every switch of a lamp.

    References
    ----------
    Incropera 6th ed., equation 5.15 (lumped capacitance with radiation); Hochbruck M., Ostermann
    A. (2010) Exponential integrators, Acta Numerica 19, 209–286, doi:10.1017/S0962492910000048.
    """
    switches = [edge for lamp in setup.lamps for stay in lamp.stays for edge in stay]
    minutes = time_grid(switches, setup.until_min)
    received = [lamp.absorbed(setup.spots_mm) for lamp in setup.lamps]
    shape = (len(setup.air_C), len(setup.spots_mm))
    celsius = np.empty((len(minutes), *shape))
    celsius[0] = setup.start_C[:, None]
    for number, (start, end) in enumerate(itertools.pairwise(minutes)):
        middle = 0.5 * (start + end)
        absorbed = np.zeros(shape)
        for lamp, flux in zip(setup.lamps, received, strict=True):
            if lamp.on_at(middle):
                absorbed = absorbed + flux
        celsius[number + 1] = _step(setup, celsius[number], absorbed, 60.0 * (end - start))
    return PanelHistory(minutes, np.ascontiguousarray(np.moveaxis(celsius, 0, -1)))
