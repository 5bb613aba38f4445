"""What an infrared thermometer shows of a panel, and what the panel then is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.radiation import STEFAN_BOLTZMANN
from panelwright.bond.rows import ZERO_CELSIUS
from panelwright.tables import load

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

BAND_UM = (8.0, 14.0)
"""Between which nearly every hand-held thermometer of this range sees."""
SECOND_RADIATION_UM_K = 14_387.768775
"""CODATA 2018."""
TERMS = 60
COLDEST_C, HOTTEST_C, TABLE_K = -80.0, 700.0, 0.25
OUTSIDE = 1.645
"""Standard normal quantile of 95 %: what lies between low and high of a table."""


def fraction_below(wavelength_temperature: Floats | float) -> Floats:
    """Share of a black body's radiation below a wavelength.

    F = 15/π⁴ Σ e^(−nz)/n (z³ + 3z²/n + 6z/n² + 6/n³), z = c₂/(λT)   (1)

    Parameters
    ----------
    wavelength_temperature : float or array
        λT, above 0 [µm K].

    Returns
    -------
    array
        F, 0 to 1 [-].

    References
    ----------
    Chang S.L., Rhee K.T. (1984) Int. Comm. Heat Mass Transfer 11, 451–455 (from memory); Incropera
    6th ed., table 12.1.

    Examples
    --------
    λT = 2898 µm K: 0.2501.

    >>> round(float(fraction_below(2898.0)), 4)
    0.2501
    """
    z = SECOND_RADIATION_UM_K / np.asarray(wavelength_temperature, dtype=np.float64)[..., None]
    n = np.arange(1.0, TERMS + 1.0)
    terms = np.exp(-n * z) / n * (z**3 + 3.0 * z**2 / n + 6.0 * z / n**2 + 6.0 / n**3)
    share: Floats = 15.0 / np.pi**4 * terms.sum(axis=-1)
    return share


def band_exitance(celsius: Floats | float) -> Floats:
    """What a black body gives off between 8 and 14 µm.

    Parameters
    ----------
    celsius : float or array
        −80 to 700 [°C].

    Returns
    -------
    array
        [W/m²]

    References
    ----------
    Planck's law over the band; the series of `fraction_below`.

    Examples
    --------
    At 300 K a good third of 459 W/m².

    >>> round(float(band_exitance(26.85)), 1)
    172.6
    """
    T = np.asarray(celsius, dtype=np.float64) + ZERO_CELSIUS
    share = fraction_below(BAND_UM[1] * T) - fraction_below(BAND_UM[0] * T)
    flux: Floats = STEFAN_BOLTZMANN * T**4 * share
    return flux


@cache
def _table() -> tuple[Floats, Floats]:
    celsius = np.arange(COLDEST_C, HOTTEST_C + TABLE_K / 2, TABLE_K)
    return celsius, band_exitance(celsius)


def band_temperature(exitance: Floats | float) -> Floats:
    """Temperature of a black body from what it gives off between 8 and 14 µm.

    Parameters
    ----------
    exitance : float or array
        [W/m²]; held to what −80 to 700 °C give.

    Returns
    -------
    array
        [°C]
    """
    celsius, flux = _table()
    found: Floats = np.interp(np.asarray(exitance), flux, celsius)
    return found


def shown(
    panel_C: float,
    *,
    emissivity: float,
    setting: float,
    walls_C: float,
    lamp: float = 0.0,
) -> float:
    """What the thermometer shows of a panel.

    ε_s W(T_shown) + (1 − ε_s) W(T_walls) = ε W(T) + (1 − ε)(W(T_walls) + G)   (1)

    with W the band exitance: the thermometer takes what it sees as emitted with its setting ε_s
    and as reflected from surroundings as warm as itself.

    Parameters
    ----------
    panel_C, walls_C : float
        Of the panel and of what it mirrors [°C].
    emissivity, setting : float
        ε of the surface and ε_s set on the thermometer, above 0 to 1 [-].
    lamp : float
        G, what a lamp sheds on the place within the band [W/m²].

    Returns
    -------
    float
        [°C]

    References
    ----------
    Emission and reflection of an opaque grey surface, Incropera 6th ed., section 12.5; surroundings
    taken off as in the documentation of an infrared sensor (read).

    Examples
    --------
    Bare sheet (0.08) at 60 °C in a bay of 20 °C, thermometer at 0.95: 23.9 °C.

    >>> round(shown(60.0, emissivity=0.08, setting=0.95, walls_C=20.0), 1)
    23.9
    """
    walls = float(band_exitance(walls_C))
    seen = emissivity * float(band_exitance(panel_C)) + (1.0 - emissivity) * (walls + lamp)
    return float(band_temperature((seen - (1.0 - setting) * walls) / setting))


def panel_from(
    shown_C: float,
    *,
    emissivity: float,
    setting: float,
    walls_C: float,
    lamp: float = 0.0,
) -> float:
    """What the panel is, from what the thermometer shows: equation 1 of `shown`, solved for T.

    Parameters
    ----------
    shown_C : float
        [°C]
    emissivity, setting, walls_C, lamp : float
        As for `shown`.

    Returns
    -------
    float
        [°C]

    Examples
    --------
    >>> round(panel_from(23.9, emissivity=0.08, setting=0.95, walls_C=20.0))
    60
    """
    walls = float(band_exitance(walls_C))
    seen = setting * float(band_exitance(shown_C)) + (1.0 - setting) * walls
    return float(band_temperature((seen - (1.0 - emissivity) * (walls + lamp)) / emissivity))


@dataclass(frozen=True)
class Seen:
    """What an infrared thermometer's reading stands for.

    Parameters
    ----------
    celsius : float
        Of the panel [°C].
    u_K : float
        Standard uncertainty [K].
    """

    celsius: float
    u_K: float


@dataclass(frozen=True)
class View:
    """How a place was looked at.

    Parameters
    ----------
    surface : str
        Row of the table ``infrared_surfaces``.
    setting : float
        Emissivity set on the thermometer [-].
    walls_C, walls_u_K : float
        What the surface mirrors [°C] and its standard uncertainty [K].
    lamp, lamp_u : float
        What a lamp sheds on it within the band, and its standard uncertainty [W/m²].
    """

    surface: str
    setting: float
    walls_C: float
    walls_u_K: float
    lamp: float = 0.0
    lamp_u: float = 0.0

    @property
    def row(self) -> int:
        """Row of its surface."""
        names = [row["surface"] for row in load("infrared_surfaces").records()]
        return names.index(self.surface)

    @property
    def words(self) -> str:
        """Its surface as people say it."""
        return str(load("infrared_surfaces").records()[self.row]["words"])

    @property
    def emissivity(self) -> tuple[float, float, float]:
        """Low, likely and high [-]."""
        table = load("infrared_surfaces")
        low, likely, high = (
            table.number(self.row, name)
            for name in ("emissivity_low", "emissivity", "emissivity_high")
        )
        return low, likely, high

    def shows(self, panel_C: float) -> float:
        """What the thermometer likely shows of a panel [°C]."""
        return shown(
            panel_C,
            emissivity=self.emissivity[1],
            setting=self.setting,
            walls_C=self.walls_C,
            lamp=self.lamp,
        )


def corrected(shown_C: float, own_u_K: float, view: View) -> Seen:
    """The panel's temperature from a reading, with what is not known of surface and surroundings.

    Parameters
    ----------
    shown_C : float
        [°C]
    own_u_K : float
        Standard uncertainty of the thermometer itself [K].
    view : View

    Returns
    -------
    Seen
        Half the span of each input's 68 % end to end, added in squares.

    References
    ----------
    JCGM 100:2008, 5.1.2, the sensitivities as finite differences.
    """
    low, likely, high = view.emissivity
    width = (likely - (likely - low) / OUTSIDE, likely + (high - likely) / OUTSIDE)

    def at(
        value: float = shown_C,
        emissivity: float = likely,
        walls: float = view.walls_C,
        lamp: float = view.lamp,
    ) -> float:
        return panel_from(
            value, emissivity=emissivity, setting=view.setting, walls_C=walls, lamp=lamp
        )

    halves = (
        (at(value=shown_C + own_u_K) - at(value=shown_C - own_u_K)) / 2.0,
        (at(emissivity=width[1]) - at(emissivity=width[0])) / 2.0,
        (at(walls=view.walls_C + view.walls_u_K) - at(walls=view.walls_C - view.walls_u_K)) / 2.0,
        (at(lamp=view.lamp + view.lamp_u) - at(lamp=max(view.lamp - view.lamp_u, 0.0))) / 2.0,
    )
    return Seen(at(), float(np.sqrt(np.sum(np.square(halves)))))
