"""Heat that the adhesive gives off itself: a bound on how much warmer it makes its joint.

A film between metal sheets is thin and its heat soon gone along them, so that this is left out of
the temperatures. Here is the most that it could be, so that a joint where it counts is told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.arrhenius import cure_rate
from panelwright.bond.ensemble import weighted_quantiles
from panelwright.bond.panel import areal_heat_capacity
from panelwright.bond.rows import GAS_CONSTANT, ZERO_CELSIUS, Milestone

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from panelwright.bond.cure import Ages, LawMembers
    from panelwright.bond.ensemble import Ensemble
    from panelwright.bond.plate import Layer

    Floats = NDArray[np.float64]

HEAT_J_G = 400.0
"""Of cure of an epoxy adhesive; 200 to 400 J/g with its fillers (from memory)."""
LEAST_LOSS = 8.0
"""Of a panel little warmer than the bay, one face in still air [W/(m² K)] (from memory)."""
FULL_ORDERS = 3.0
"""−ln(1 − 0.95): cure of first order that is full at 95 %; fastest at its beginning."""
TOLD_K = 2.0
"""What is less than this is not told: other spreads are several times as wide (own choice)."""
COULD = 0.9
ROUNDS = 30


@dataclass(frozen=True)
class BondLine:
    """An adhesive between sheets that go on beyond it.

    Parameters
    ----------
    film_mm : float
        All of its films together [mm].
    density : float
        [kg/m³]
    width_mm : float
        Of the overlap [mm].
    heat_capacity : float
        Of the whole stack [J/(m² K)].
    beside : tuple of float
        κ = k t of each sheet that goes on [W/K].
    reach_mm : float
        How far they go on [mm].
    """

    film_mm: float
    density: float
    width_mm: float
    heat_capacity: float
    beside: tuple[float, ...]
    reach_mm: float


def bond_line(layers: Sequence[Layer], width_mm: float, reach_mm: float) -> BondLine | None:
    """The adhesive of a stack.

    Parameters
    ----------
    layers : sequence of Layer
        Sheets and last their adhesive; the outermost two go on beyond the overlap.
    width_mm, reach_mm : float
        Of the overlap, and of the sheets beyond it, above 0 [mm].

    Returns
    -------
    BondLine or None
        None of fewer than two sheets.
    """
    if len(layers) < 3:
        return None
    *sheets, film = layers
    beside = tuple(1e-3 * one.conductivity * one.thickness_mm for one in (sheets[0], sheets[-1]))
    capacity = areal_heat_capacity((o.density, o.specific_heat, o.thickness_mm) for o in layers)
    return BondLine(film.thickness_mm, film.density, width_mm, capacity, beside, reach_mm)


def heat_of_cure(line: BondLine, heat_J_g: float = HEAT_J_G) -> float:
    """What a bond line gives off until it is cured.

    Q = ΔH ρ t   (1)

    Parameters
    ----------
    line : BondLine
    heat_J_g : float
        ΔH, not below 0 [J/g].

    Returns
    -------
    float
        Q [J/m²].

    References
    ----------
    Definition of the heat of reaction.
    """
    return 1e3 * heat_J_g * line.density * 1e-3 * line.film_mm


def adiabatic_rise(line: BondLine, heat_J_g: float = HEAT_J_G) -> float:
    """How much warmer a stack gets that keeps all of its heat of cure.

    ΔT = Q/C   (1)

    Parameters
    ----------
    line : BondLine
    heat_J_g : float
        As for `heat_of_cure` [J/g].

    Returns
    -------
    float
        ΔT [K].

    References
    ----------
    Balance of energy.

    Examples
    --------
    0.3 mm of 1300 kg/m³ and 400 J/g in a stack of 5445 J/(m² K):

    >>> round(adiabatic_rise(BondLine(0.3, 1300.0, 20.0, 5445.0, (0.16, 0.16), 300.0)), 2)
    28.65
    """
    return heat_of_cure(line, heat_J_g) / line.heat_capacity


def steady_rise(line: BondLine, watts_m2: float, loss: float = LEAST_LOSS) -> float:
    """How much warmer an overlap is that has long given off heat at one rate.

    ΔT = q w / [h w + Σ √(h κ) tanh(L √(h/κ))]   (1)

    An even overlap of width w loses from its faces and into its sheets as fins of length L.

    Parameters
    ----------
    line : BondLine
    watts_m2 : float
        q, not below 0 [W/m²].
    loss : float
        h of both faces together, above 0 [W/(m² K)].

    Returns
    -------
    float
        ΔT [K]; no lesser steady or passing rate makes it warmer.

    References
    ----------
    Incropera 6th ed., table 3.4, case B (fin with an insulated tip).
    """
    width, reach = 1e-3 * line.width_mm, 1e-3 * line.reach_mm
    fins = sum(
        math.sqrt(loss * kappa) * math.tanh(reach * math.sqrt(loss / kappa))
        for kappa in line.beside
    )
    return watts_m2 * width / (loss * width + fins)


def own_heat_K(line: BondLine, ages: Ages, law: LawMembers, ensemble: Ensemble) -> float:
    """The most by which its own heat could warm a joint above what is computed without it.

    Cure of the first order in equivalent age is never faster than at its beginning, and a steady
    source at the fastest rate warms more than what passes; faster cure by that warmth is counted.

    Parameters
    ----------
    line : BondLine
    ages : Ages
        Of m members.
    law : LawMembers
        With a time to full cure, or to handling.
    ensemble : Ensemble
        Weights of the members.

    Returns
    -------
    float
        [K], passed by one member in ten; 0 where the sheet gives no time.
    """
    full, handle = law.wanted(Milestone.FULL), law.wanted(Milestone.HANDLE)
    if full is not None:
        pace = FULL_ORDERS / full
    elif handle is not None:
        pace = 1.0 / handle
    else:
        return 0.0
    celsius = ages.history.celsius
    speed = cure_rate(celsius, law.reference_C, law.energy_kJ_mol[:, None, None])
    pace = pace[:, None, None]
    rate = (pace * speed * np.exp(-pace * ages.age_min)).max(axis=(1, 2)) / 60.0
    kelvin = celsius.max(axis=(1, 2)) + ZERO_CELSIUS
    a_kelvin = 1e3 * law.energy_kJ_mol / (GAS_CONSTANT * kelvin * kelvin)
    even = steady_rise(line, heat_of_cure(line)) * rate
    most = adiabatic_rise(line)
    rise: Floats = np.zeros(len(rate))
    for _ in range(ROUNDS):
        rise = np.minimum(even * np.exp(np.minimum(a_kelvin * rise, 50.0)), most)
    return float(weighted_quantiles(rise, ensemble.weights, (COULD,))[0])


def exotherm_note(rise_K: float) -> tuple[str, ...]:
    """What to say of a joint's own heat.

    Parameters
    ----------
    rise_K : float
        By `own_heat_K`, 0 where it is not worth a word [K].

    Returns
    -------
    tuple of str
        None of 0.
    """
    if rise_K <= 0.0:
        return ()
    told = (
        f"The adhesive's own heat of cure could add up to {rise_K:.1f} K to the temperatures shown "
        f"({HEAT_J_G:g} J/g, the most that is usual, from memory); it is counted against the "
        f"limit. A thinner bond line or a lamp farther away makes it less."
    )
    return (told,)
