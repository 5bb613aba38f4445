"""The data sheet's times beside published kinetics of the same adhesive."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.answer import DegreeOfCure
from panelwright.bond.kamal import Kamal, degree_of_cure

if TYPE_CHECKING:
    from panelwright.bond.answer import JointBond
    from panelwright.facts.models.bonding import Kinetics

APART = 1.5
"""Factor between the two times from which they are said to disagree (own choice)."""


def parameters(kinetics: Kinetics) -> Kamal:
    """Parameters as the file gives them.

    Parameters
    ----------
    kinetics : Kinetics
        With rate factors [1/s], energies [kJ/mol] and orders.

    Returns
    -------
    Kamal
    """
    return Kamal(
        a1_s=kinetics.a1,
        e1_kJ_mol=kinetics.e1,
        a2_s=kinetics.a2,
        e2_kJ_mol=kinetics.e2,
        m=kinetics.m,
        n=kinetics.n,
        start=kinetics.start,
        diffusion=kinetics.diffusion,
    )


def second_route(bond: JointBond, kinetics: Kinetics) -> tuple[DegreeOfCure, str]:
    """Degree of cure of a joint's coldest spot in the likely case, and how the routes compare.

    Parameters
    ----------
    bond : JointBond
        With its curve and times by the data sheet [min].
    kinetics : Kinetics
        Published parameters of its adhesive.

    Returns
    -------
    DegreeOfCure
    str
        The comparison; the data sheet's times stay.

    References
    ----------
    `panelwright.bond.kamal.degree_of_cure`.
    """
    minutes = np.array([row.minute for row in bond.curve])
    celsius = np.array([row.coldest_C for row in bond.curve])
    degree = degree_of_cure(minutes, celsius, parameters(kinetics))

    def at(minute: float | None) -> float | None:
        return None if minute is None else float(np.interp(minute, minutes, degree))

    reached = degree >= kinetics.full
    full_min = None
    if reached.any():
        full_min = float(np.interp(kinetics.full, degree, minutes))
    likely = bond.full_min.likely if bond.full_min else None
    found = DegreeOfCure(
        at_handle=at(bond.handle_min.likely if bond.handle_min else None),
        at_full=at(likely),
        full_min=full_min,
        full_degree=kinetics.full,
        source=kinetics.source,
    )
    return found, _words(found, likely, float(minutes[-1]), float(degree[-1]))


def _words(found: DegreeOfCure, likely: float | None, end_min: float, end: float) -> str:
    percent = f"{100.0 * found.full_degree:.0f} % cure"
    if found.full_min is None:
        return (
            f"By published kinetics ({found.source}) the coldest spot stands at {100 * end:.0f} % "
            f"cure after {end_min:.0f} min and has not reached {percent}: warm the joint, or ask "
            f"the adhesive's maker; the later of both routes counts."
        )
    told = (
        f"By published kinetics ({found.source}) the coldest spot likely reaches {percent} after "
        f"{found.full_min:.0f} min"
    )
    if likely is None:
        return f"{told}; the sheet gives no time for it."
    apart = max(found.full_min, 1.0) / max(likely, 1.0)
    if 1.0 / APART <= apart <= APART:
        return f"{told}; the data sheet's {likely:.0f} min agree with it."
    return (
        f"{told}, the data sheet says {likely:.0f} min: the two do not agree. Check both sources; "
        f"wait for the later."
    )
