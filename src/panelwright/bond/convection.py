"""Natural convection from an upright panel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.rows import ZERO_CELSIUS

if TYPE_CHECKING:
    from numpy.typing import NDArray

GRAVITY = 9.80665
"""m/s², standard."""


@dataclass(frozen=True)
class Air:
    """Air at film temperature.

    Parameters
    ----------
    conductivity : float or array
        k [W/(m K)].
    viscosity : float or array
        Kinematic, ν [m²/s].
    diffusivity : float or array
        Thermal, α [m²/s].
    expansion : float or array
        β [1/K].
    """

    conductivity: NDArray[np.float64] | float
    viscosity: NDArray[np.float64] | float
    diffusivity: NDArray[np.float64] | float
    expansion: NDArray[np.float64] | float


def air_at(film_C: NDArray[np.float64] | float, pressure_Pa: float = 101_325.0) -> Air:
    """Properties of dry air at a film temperature.

    μ = 1.458·10⁻⁶ T^1.5/(T + 110.4), k = 2.64638·10⁻³ T^1.5/(T + 245.4·10^(−12/T))   (1, 2)

    with ideal-gas density and c_p = 1006 J/(kg K) (k and μ within 1 % of tables, −20 to 130 °C).

    Parameters
    ----------
    film_C : float or array
        Mean of surface and air temperature, −60 to 300 [°C].
    pressure_Pa : float
        Air pressure, 70 000 to 110 000 [Pa].

    Returns
    -------
    Air

    References
    ----------
    U.S. Standard Atmosphere 1976, equations 51 and 53 (constants from memory; checked against
    handbook properties of air in the tests).

    Examples
    --------
    Incropera table A.4 at 300 K: k = 26.3·10⁻³ W/(m K), ν = 15.89·10⁻⁶ m²/s at 100 kPa.

    >>> air = air_at(26.85)
    >>> round(1e3 * float(air.conductivity), 1), round(1e6 * float(air.viscosity), 1)
    (26.3, 15.7)
    """
    T = np.asarray(film_C) + ZERO_CELSIUS
    root = T * np.sqrt(T)
    viscosity_Pas = 1.458e-6 * root / (T + 110.4)
    conductivity = 2.64638e-3 * root / (T + 245.4 * 10.0 ** (-12.0 / T))
    density = pressure_Pa / (287.05287 * T)
    return Air(conductivity, viscosity_Pas / density, conductivity / (density * 1006.0), 1.0 / T)


def nusselt_churchill_chu(
    rayleigh: NDArray[np.float64] | float, prandtl: NDArray[np.float64] | float
) -> NDArray[np.float64]:
    """Mean Nusselt number of an upright plate in still fluid, laminar and turbulent.

    Nu = {0.825 + 0.387 Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}²   (1)

    Parameters
    ----------
    rayleigh : float or array
        Ra on the plate's height, 0 to 10¹² [-].
    prandtl : float or array
        Pr, above 0 [-].

    Returns
    -------
    array
        Nu on the plate's height [-].

    References
    ----------
    Churchill S.W., Chu H.H.S. (1975) Int. J. Heat Mass Transfer 18, 1323–1329,
    doi:10.1016/0017-9310(75)90243-4; equation 9.26 in Incropera 6th ed.

    Examples
    --------
    Incropera example 9.2, Ra = 1.813·10⁹, Pr = 0.69: Nu = 147.

    >>> round(float(nusselt_churchill_chu(2.63e9 * 0.69, 0.69)), 3)
    147.162
    """
    spread = (1.0 + (0.492 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    nusselt: NDArray[np.float64] = (0.825 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / spread) ** 2
    return nusselt


def natural_convection_upright(
    surface_C: NDArray[np.float64] | float, air_C: float, height_m: float, air: Air | None = None
) -> NDArray[np.float64]:
    """Coefficient of natural convection from one face of an upright plate.

    Parameters
    ----------
    surface_C : float or array
        Temperature of the face [°C].
    air_C : float
        Temperature of the air [°C].
    height_m : float
        Height of the warm zone, 0.05 to 3 [m].
    air : Air, optional
        Properties at film temperature; left out: `air_at`.

    Returns
    -------
    array
        h, mean over the height [W/(m² K)].

    References
    ----------
    Equation 1 of `nusselt_churchill_chu` with Ra = gβ|ΔT|H³/(να), properties at film temperature.

    Examples
    --------
    Upright panel 0.6 m high at 80 °C in air at 20 °C: 5.48 with a
    reference library's air.

    >>> round(float(natural_convection_upright(80.0, 20.0, 0.6)), 1)
    5.5
    """
    excess = np.abs(np.asarray(surface_C) - air_C)
    film = air if air is not None else air_at(0.5 * (np.asarray(surface_C) + air_C))
    mixing = np.asarray(film.viscosity) * film.diffusivity
    rayleigh = GRAVITY * film.expansion * excess * height_m**3 / mixing
    prandtl = np.asarray(film.viscosity) / film.diffusivity
    return nusselt_churchill_chu(rayleigh, prandtl) * film.conductivity / height_m


def natural_convection_level(
    surface_C: NDArray[np.float64] | float, air_C: float, side_m: float, *, up: bool
) -> NDArray[np.float64]:
    """Coefficient of natural convection from one face of a level plate.

    Nu = max(0.54 Ra^¼, 0.15 Ra^⅓) where warm air leaves the face, 0.27 Ra^¼ where it is held;
    L = A/P, a quarter of a square's side   (1)

    Parameters
    ----------
    surface_C : float or array
        Temperature of the face [°C].
    air_C : float
        Temperature of the air [°C].
    side_m : float
        Of the warm zone, taken as a square, 0.05 to 3 [m].
    up : bool
        Whether the face looks up; a face colder than the air changes places with the other.

    Returns
    -------
    array
        h, mean over the face [W/(m² K)].

    References
    ----------
    Incropera 6th ed., equations 9.30 to 9.32 (McAdams 1954; Goldstein, Sparrow and Jones 1973).

    Examples
    --------
    Roof at 80 °C in air at 20 °C, 0.6 m: more from above than from below.

    >>> [round(float(natural_convection_level(80.0, 20.0, 0.6, up=up)), 1) for up in (True, False)]
    [6.7, 3.1]
    """
    surface = np.asarray(surface_C, dtype=np.float64)
    film = air_at(0.5 * (surface + air_C))
    length = 0.25 * side_m
    mixing = np.asarray(film.viscosity) * film.diffusivity
    rayleigh = GRAVITY * film.expansion * np.abs(surface - air_C) * length**3 / mixing
    free = np.maximum(0.54 * rayleigh**0.25, 0.15 * rayleigh ** (1.0 / 3.0))
    leaves = (surface >= air_C) if up else (surface < air_C)
    nusselt: NDArray[np.float64] = np.where(leaves, free, 0.27 * rayleigh**0.25)
    return nusselt * film.conductivity / length
