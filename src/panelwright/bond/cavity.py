"""A panel over a closed box: what it loses through the air behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.convection import GRAVITY, air_at, natural_convection_upright
from panelwright.bond.radiation import STEFAN_BOLTZMANN
from panelwright.bond.rows import ZERO_CELSIUS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

STEP_K, LOW_K, HIGH_K = 2.0, -60.0, 300.0
HALVINGS = 26


def nusselt_upright_gap(rayleigh: Floats | float, aspect: float) -> Floats:
    """Mean Nusselt number of air between two upright walls, on its thickness.

    Nu₁ = 0.0673838 Ra^(1/3) above 5·10⁴, 0.028154 Ra^0.4134 above 10⁴, else
    1 + 1.7596678·10⁻¹⁰ Ra^2.2984755; Nu₂ = 0.242 (Ra/A)^0.272; the greater of the two   (1)

    Parameters
    ----------
    rayleigh : float or array
        Ra on the gap's thickness, 0 to 2·10⁷ [-].
    aspect : float
        A, height over thickness [-].

    Returns
    -------
    array
        Nu, 1 without motion [-].

    References
    ----------
    ISO 15099:2003, 5.3.3.5 (coefficients read in a public building library after TARCOG 2006);
    ElSherbiny S.M., Raithby G.D., Hollands K.G.T. (1982) J. Heat Transfer 104, 96–102.
    """
    Ra = np.asarray(rayleigh, dtype=np.float64)
    slow = 1.0 + 1.7596678e-10 * Ra**2.2984755
    first = np.where(Ra > 1e4, 0.028154 * Ra**0.4134, slow)
    first = np.where(Ra > 5e4, 0.0673838 * Ra ** (1.0 / 3.0), first)
    nusselt: Floats = np.maximum(first, 0.242 * (Ra / aspect) ** 0.272)
    return nusselt


def gap_coefficient(
    hot_C: Floats, cold_C: Floats, gap_m: float, height_m: float, *, level: bool
) -> Floats:
    """Coefficient of convection and conduction through the air of a closed gap.

    Parameters
    ----------
    hot_C, cold_C : array
        Of the two walls [°C].
    gap_m, height_m : float
        Thickness and height of the air, above 0 [m].
    level : bool
        True: the warm wall lies above the cold one, and the air rests.

    Returns
    -------
    array
        [W/(m² K)]
    """
    air = air_at(0.5 * (hot_C + cold_C))
    resting: Floats = np.asarray(air.conductivity) / gap_m
    if level:
        return resting
    mixing = np.asarray(air.viscosity) * air.diffusivity
    rayleigh = GRAVITY * np.asarray(air.expansion) * np.abs(hot_C - cold_C) * gap_m**3 / mixing
    return nusselt_upright_gap(rayleigh, height_m / gap_m) * resting


@dataclass(frozen=True)
class Box:
    """Air behind a panel and the wall that closes it.

    Parameters
    ----------
    gap_m, height_m : float
        Of the air [m].
    level : bool
        Whether the panel lies level, its heated face up.
    """

    gap_m: float
    height_m: float
    level: bool


@dataclass(frozen=True)
class BackLoss:
    """Loss into a closed box against excess temperature, a table for each of m members.

    q = h_gap (T − T_w) + σ(T⁴ − T_w⁴)/(2/ε − 1) = h (T_w − T_air) + εσ(T_w⁴ − T_air⁴)   (1)

    with the far wall at the temperature T_w at which it passes on what it takes up.

    Parameters
    ----------
    flux : array, shape (m, k)
        At −60 K and on in steps of 2 K [W/m²].
    """

    flux: Floats

    @classmethod
    def of(cls, box: Box, air_C: float, emissivity: Floats, factor: Floats) -> BackLoss:
        """Tables of members by the emissivity of the back and the far wall [-], and of convection.

        Parameters
        ----------
        box : Box
        air_C : float
            Of the bay [°C].
        emissivity, factor : array, shape (m,)
            Of both inner faces and the far wall's outer one; by which convection differs [-].
        """
        excess = np.arange(LOW_K, HIGH_K + STEP_K / 2, STEP_K)[None, :]
        eps, scale = emissivity[:, None], factor[:, None]
        panel = np.broadcast_to(air_C + excess, (len(eps), excess.shape[1]))
        low, high = np.minimum(panel, air_C), np.maximum(panel, air_C)
        for _ in range(HALVINGS):
            wall = 0.5 * (low + high)
            into = _through(box, panel, wall, eps, scale)
            out = _passed_on(box, wall, air_C, eps, scale)
            low, high = np.where(into > out, wall, low), np.where(into > out, high, wall)
        return cls(_through(box, panel, 0.5 * (low + high), eps, scale))

    def at(self, excess_K: Floats) -> tuple[Floats, Floats]:
        """Loss and its slope at excess temperatures, shape (…, m) [W/m²], [W/(m² K)]."""
        members, count = self.flux.shape
        place = (excess_K - LOW_K) / STEP_K
        left = np.clip(place.astype(np.intp), 0, count - 2)
        number = left + count * np.arange(members)
        low = self.flux.ravel()[number]
        rise = self.flux.ravel()[number + 1] - low
        return low + rise * (place - left), rise / STEP_K


def _fourth(celsius: Floats | float) -> Floats:
    power: Floats = (np.asarray(celsius) + ZERO_CELSIUS) ** 4
    return power


def _through(box: Box, panel: Floats, wall: Floats, eps: Floats, scale: Floats) -> Floats:
    """What the panel gives to the far wall [W/m²]."""
    air = gap_coefficient(panel, wall, box.gap_m, box.height_m, level=box.level)
    radiated = STEFAN_BOLTZMANN / (2.0 / eps - 1.0) * (_fourth(panel) - _fourth(wall))
    flux: Floats = scale * air * (panel - wall) + radiated
    return flux


def _passed_on(box: Box, wall: Floats, air_C: float, eps: Floats, scale: Floats) -> Floats:
    """What the far wall gives to the bay [W/m²]."""
    coefficient = natural_convection_upright(wall, air_C, box.height_m)
    radiated = STEFAN_BOLTZMANN * eps * (_fourth(wall) - _fourth(air_C))
    flux: Floats = scale * coefficient * (wall - air_C) + radiated
    return flux
