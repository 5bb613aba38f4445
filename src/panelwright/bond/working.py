"""How long an adhesive can be worked at other temperatures of bay and panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.answer import WorkAt
from panelwright.bond.arrhenius import cure_rate
from panelwright.bond.cure import LawMembers, band
from panelwright.bond.ensemble import Ensemble, Input
from panelwright.bond.rows import Milestone

if TYPE_CHECKING:
    from collections.abc import Sequence

COLDEST_C, WARMEST_C = 5, 40
"""Of the bays in which somebody bonds."""


def work_at(
    law: LawMembers, ensemble: Ensemble, air_u_K: float, celsius: Sequence[float] = ()
) -> tuple[WorkAt, ...]:
    """Early bound of the work time with bay and panel at each temperature.

    t_w(T) = t_ref / k(T + u z)   (1), early bound of the members

    Parameters
    ----------
    law : LawMembers
        Of m members.
    ensemble : Ensemble
        The same members.
    air_u_K : float
        Standard uncertainty of the temperature [K].
    celsius : sequence of float
        Temperatures [°C]; none: every degree from 5 to 40 °C.

    Returns
    -------
    tuple of WorkAt
        Empty where the sheet gives no work time.

    References
    ----------
    As for `panelwright.bond.cure.work_times` without a lamp.
    """
    wanted = law.wanted(Milestone.WORK)
    if wanted is None:
        return ()
    off_K = air_u_K * ensemble.column(Input.AIR)
    found = []
    for at in celsius or range(COLDEST_C, WARMEST_C + 1):
        rate = cure_rate(np.asarray(float(at) + off_K), law.reference_C, law.energy_kJ_mol)
        found.append(WorkAt(float(at), band(wanted / rate, ensemble).early))
    return tuple(found)
