"""Law of time and temperature of an adhesive, fitted to the rows of its data sheet."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.posterior import law_posterior, rounding_u
from panelwright.bond.rows import (
    GAS_CONSTANT,
    MILESTONES,
    ZERO_CELSIUS,
    Milestone,
    RefusedSheet,
    SheetRow,
    pairs,
    refuse_energy,
    refuse_growing,
    refuse_order,
    refuse_physics,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

ROUNDING_U = 0.05
"""Least relative standard uncertainty of a row where the rows alone speak (common practice)."""


@dataclass(frozen=True)
class CureLaw:
    """ln t = ln t_ref(event) + (E/R)(1/T − 1/T_ref), one E for all events.

    Parameters
    ----------
    events : tuple of Milestone
        Those the sheet gives, in order of cure.
    ln_min : tuple of float
        ln of the time at `reference_C` for each of `events` [ln min].
    energy_kJ_mol : float
        Activation energy E [kJ/mol].
    covariance : tuple of tuple of float, shape (n + 1, n + 1)
        Of the `ln_min` and then of E [kJ/mol].
    reference_C : float
        T_ref, the mean of the sheet's 1/T [°C].
    low_C, high_C : float
        Temperatures between which the sheet speaks [°C].
    residual_u : float
        Standard uncertainty of one row's ln t.
    assumed : bool
        True where E is the common value for want of a second temperature.
    alone_kJ_mol, alone_u_kJ_mol : float or None
        E and its standard uncertainty by the rows alone [kJ/mol]; None: they give none.
    """

    events: tuple[Milestone, ...]
    ln_min: tuple[float, ...]
    energy_kJ_mol: float
    covariance: tuple[tuple[float, ...], ...]
    reference_C: float
    low_C: float
    high_C: float
    residual_u: float
    assumed: bool
    alone_kJ_mol: float | None = None
    alone_u_kJ_mol: float | None = None

    @property
    def energy_u_kJ_mol(self) -> float:
        """Standard uncertainty of E [kJ/mol]."""
        return math.sqrt(self.covariance[-1][-1])

    def time_min(self, event: Milestone, at_C: float) -> float:
        """Time to reach an event at a steady temperature [min]."""
        slowness = cure_rate(self.reference_C, at_C, self.energy_kJ_mol)
        return math.exp(self.ln_min[self.events.index(event)]) * float(slowness)

    def time_u(self, event: Milestone, at_C: float) -> float:
        """Relative standard uncertainty of that time, from time and energy together."""
        inverse = 1 / (at_C + ZERO_CELSIUS) - 1 / (self.reference_C + ZERO_CELSIUS)
        slope = np.zeros(len(self.events) + 1)
        slope[self.events.index(event)], slope[-1] = 1.0, 1e3 / GAS_CONSTANT * inverse
        return math.sqrt(float(slope @ np.array(self.covariance) @ slope))


def cure_rate(
    at_C: NDArray[np.float64] | float,
    reference_C: float,
    energy_kJ_mol: NDArray[np.float64] | float,
) -> NDArray[np.float64]:
    """Speed of cure relative to that at a reference temperature.

    k(T)/k(T_ref) = exp[−(E/R)(1/T − 1/T_ref)]   (1)

    Parameters
    ----------
    at_C : float or array
        Temperature of the adhesive, above −273.15 [°C].
    reference_C : float
        Temperature at which the speed is 1 [°C].
    energy_kJ_mol : float or array
        Activation energy E, broadcast against `at_C` [kJ/mol].

    Returns
    -------
    array
        Relative speed [-].

    References
    ----------
    ASTM C1074-19, Standard Practice for Estimating Concrete Strength by the Maturity Method,
    equation 2 (from memory; R = 8.314462618 J/(mol K)).

    Examples
    --------
    58 kJ/mol, 23 to 60 °C:

    >>> round(float(cure_rate(60.0, 23.0, 58.0)), 2)
    13.68
    """
    inverse = 1.0 / (np.asarray(at_C) + ZERO_CELSIUS) - 1.0 / (reference_C + ZERO_CELSIUS)
    rate: NDArray[np.float64] = np.exp(np.asarray(energy_kJ_mol) * (-1e3 / GAS_CONSTANT) * inverse)
    return rate


def _design(
    rows: Sequence[SheetRow], events: tuple[Milestone, ...], reference_C: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    matrix = np.zeros((len(rows), len(events) + 1))
    for number, row in enumerate(rows):
        matrix[number, events.index(row.event)] = 1.0
        inverse = 1 / (row.at_C + ZERO_CELSIUS) - 1 / (reference_C + ZERO_CELSIUS)
        matrix[number, -1] = 1e3 / GAS_CONSTANT * inverse
    return matrix, np.log(np.array([row.time_min for row in rows], dtype=np.float64))


def _least_squares(
    rows: Sequence[SheetRow], events: tuple[Milestone, ...], reference_C: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Estimates, covariance and the standard uncertainty of one row."""
    matrix, observed = _design(rows, events, reference_C)
    normal: NDArray[np.float64] = np.asarray(np.linalg.inv(matrix.T @ matrix))
    estimate = normal @ matrix.T @ observed
    residual = observed - matrix @ estimate
    dof = len(rows) - len(estimate)
    scatter = math.sqrt(float(residual @ residual) / dof) if dof > 0 else 0.0
    u = max(scatter, ROUNDING_U)
    return estimate, normal * u**2, u


def _refuse_crossing(law: CureLaw) -> None:
    """Fitted times that would stand in the wrong order at every temperature."""
    for earlier, later in itertools.pairwise(range(len(law.events))):
        if law.ln_min[earlier] >= law.ln_min[later]:
            raise RefusedSheet(
                f"taken together the rows put “{law.events[later]}” before "
                f"“{law.events[earlier]}” ({math.exp(law.ln_min[later]):.0f} and "
                f"{math.exp(law.ln_min[earlier]):.0f} min at {law.reference_C:.0f} °C). "
                f"Read the rows of both again."
            )


def _checked(rows: Sequence[SheetRow]) -> tuple[tuple[Milestone, ...], float]:
    """Events of the rows and their reference temperature [°C]; refuses what cannot be."""
    if not rows:
        raise RefusedSheet("the sheet has no [[adhesive.time]] row; give work, handle and full.")
    refuse_physics(rows)
    refuse_growing(rows)
    refuse_order(rows)
    events = tuple(event for event in MILESTONES if any(row.event is event for row in rows))
    inverse = [1 / (row.at_C + ZERO_CELSIUS) for row in rows]
    return events, len(rows) / math.fsum(inverse) - ZERO_CELSIUS


def fit_rows_alone(rows: Sequence[SheetRow]) -> CureLaw:
    """Fit one activation energy and a time for each event to the rows, and to nothing else.

    ln t_i = a_event(i) + (E/R)(1/T_i − 1/T_ref)   (1)

    by ordinary least squares; lines of different events are parallel and so cannot cross. The
    standard uncertainty of a row is the pooled residual, never less than a sheet's rounding.

    Parameters
    ----------
    rows : sequence of SheetRow
        Some event at two temperatures; times above 0 [min], temperatures −50 to 300 [°C].

    Returns
    -------
    CureLaw

    Raises
    ------
    RefusedSheet
        No row; a time that does not fall with temperature; an energy outside 35 to 90 kJ/mol;
        events in the wrong order. The message names the rows.

    References
    ----------
    Arrhenius S. (1889) Z. phys. Chem. 4, 226–248.

    Examples
    --------
    Times to 95 % conversion of a one-part epoxy, as published by a maker of kinetics software
    (16.4, 9.2 and 4.2 min); slope worked out apart: 45.36 kJ/mol.

    >>> law = fit_rows_alone([SheetRow(Milestone.FULL, t, m)
    ...                       for t, m in ((150, 16.4), (170, 9.2), (200, 4.2))])
    >>> round(law.energy_kJ_mol, 2), round(law.time_min(Milestone.FULL, 170), 3)
    (45.36, 9.178)
    """
    events, reference_C = _checked(rows)
    estimate, covariance, u = _least_squares(rows, events, reference_C)
    refuse_energy(rows, float(estimate[-1]))
    alone = float(estimate[-1]), math.sqrt(float(covariance[-1, -1]))
    return _law(rows, (events, reference_C), (estimate, covariance, u), alone)


def _law(
    rows: Sequence[SheetRow],
    about: tuple[tuple[Milestone, ...], float],
    fitted: tuple[NDArray[np.float64], NDArray[np.float64], float],
    alone: tuple[float, float] | None,
) -> CureLaw:
    estimate, covariance, u = fitted
    events, reference_C = about
    law = CureLaw(
        events=events,
        ln_min=tuple(float(value) for value in estimate[:-1]),
        energy_kJ_mol=float(estimate[-1]),
        covariance=tuple(tuple(float(cell) for cell in line) for line in covariance),
        reference_C=reference_C,
        low_C=min(row.at_C for row in rows),
        high_C=max(row.at_C for row in rows),
        residual_u=u,
        assumed=alone is None,
        alone_kJ_mol=None if alone is None else alone[0],
        alone_u_kJ_mol=None if alone is None else alone[1],
    )
    _refuse_crossing(law)
    return law


def fit_cure_law(rows: Sequence[SheetRow]) -> CureLaw:
    """The law of a data sheet: its rows, their rounding, and what is known of epoxies.

    Equation (1) of `fit_rows_alone`, with the prior E = 58 ± 7 kJ/mol and a row's scatter unknown
    (`panelwright.bond.posterior.law_posterior`).

    Parameters
    ----------
    rows : sequence of SheetRow
        At least one; times above 0 [min], temperatures −50 to 300 [°C].

    Returns
    -------
    CureLaw
        Marked as assumed where no event has two temperatures: the prior is all there is of E.

    Raises
    ------
    RefusedSheet
        As `fit_rows_alone`; the rows alone are judged, without the prior.

    References
    ----------
    Arrhenius S. (1889) Z. phys. Chem. 4, 226–248. Prior: Horie K. et al. (1970) J. Polym. Sci. A-1
    8, 1357–1372 (from memory, 54–59 kJ/mol for epoxy with aliphatic amine).

    Examples
    --------
    One temperature leaves the prior as it is:

    >>> law = fit_cure_law([SheetRow(Milestone.FULL, 23.0, 1440.0)])
    >>> round(law.energy_kJ_mol, 6), round(law.energy_u_kJ_mol, 6), law.assumed
    (58.0, 7.0, True)
    """
    events, reference_C = _checked(rows)
    alone: tuple[float, float] | None = None
    if any(warm.at_C > cold.at_C for cold, warm in pairs(rows)):
        by_rows = fit_rows_alone(rows)
        alone = by_rows.energy_kJ_mol, by_rows.energy_u_kJ_mol
    matrix, observed = _design(rows, events, reference_C)
    found = law_posterior(matrix, observed, rounding_u([row.time_min for row in rows]))
    fitted = (found.estimate, found.covariance, found.row_u)
    return _law(rows, (events, reference_C), fitted, alone)
