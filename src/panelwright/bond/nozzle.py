"""A mix that stands in its nozzle: it warms itself and gels before the work time ends."""

from __future__ import annotations

import math
from functools import cache

from panelwright.bond.arrhenius import cure_rate
from panelwright.tables import load

STEPS = 100
"""Of the share of the work time that is used up; the error is below 0.1 % (tests)."""


@cache
def nozzle_minutes(*, work_min: float, air_C: float, energy_kJ_mol: float) -> float:
    """How long a mix may stand in a nozzle until it is as far as at the end of the work time.

    dα/dt = (α_w/t_w) k(T),  ρ c dT/dt = ρ H dα/dt − (4 h/d)(T − T_air)   (1)

    k is the speed of cure against the one in air, 1 at T_air; the time is where α = α_w, found with
    α as the running variable (Runge–Kutta of order 4).

    Parameters
    ----------
    work_min : float
        Work time t_w of a thin bead at the air's temperature, above 0 [min].
    air_C : float
        T_air, and the mix when it stops [°C].
    energy_kJ_mol : float
        Activation energy [kJ/mol].

    Returns
    -------
    float
        Never more than `work_min` [min].

    References
    ----------
    Semenov N.N. (1928) Z. Phys. 48, 571–582: heat balance of a well-mixed body (from memory).
    Values: table ``nozzle``.

    Examples
    --------
    Without any influence of temperature it is the work time:

    >>> round(nozzle_minutes(work_min=40.0, air_C=20.0, energy_kJ_mol=0.0), 6)
    40.0
    """
    table = load("nozzle")
    density, heat = table.number(0, "density"), table.number(0, "heat")
    capacity = density * table.number(0, "specific_heat")
    loss = 4.0 * table.number(0, "film") / (table.number(0, "diameter") / 1000.0)
    whole = table.number(0, "conversion")
    warming_K = density * heat * 1000.0 * whole / capacity
    per_min = 60.0 * loss / capacity

    def slopes(excess_K: float) -> tuple[float, float]:
        """Of time [min] and of the excess temperature [K], over the share of the work time used."""
        minutes = work_min / float(cure_rate(air_C + excess_K, air_C, energy_kJ_mol))
        return minutes, warming_K - per_min * excess_K * minutes

    steps = max(STEPS, math.ceil(per_min * work_min))
    step = 1.0 / steps
    minutes = excess_K = 0.0
    for _ in range(steps):
        a = slopes(excess_K)
        b = slopes(excess_K + 0.5 * step * a[1])
        c = slopes(excess_K + 0.5 * step * b[1])
        d = slopes(excess_K + step * c[1])
        minutes += step * (a[0] + 2.0 * b[0] + 2.0 * c[0] + d[0]) / 6.0
        excess_K += step * (a[1] + 2.0 * b[1] + 2.0 * c[1] + d[1]) / 6.0
    return minutes
