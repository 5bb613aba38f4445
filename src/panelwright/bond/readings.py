"""Temperature readings on a joint: they narrow the ensemble, or say that something is wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.answer import ReadingCheck
from panelwright.bond.ensemble import MEMBERS, THERMAL, Ensemble, Input, fixed_ensemble
from panelwright.bond.heat import HeatPlan, panel_setup
from panelwright.bond.history import temperature_history
from panelwright.bond.lamps import spread

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

ROUNDS = 6
DIFFERENCE = 0.1
TEACHES_K = 1e3
"""A standard uncertainty above it stands for no weight."""
FAR = 3.0
"""Standard uncertainties beyond which a reading disagrees."""


@dataclass(frozen=True)
class Reading:
    """One temperature read on a joint.

    Parameters
    ----------
    along_mm : float
        Place along the joint [mm].
    minute : float
        After closing [min].
    value_C : float
        What the thermometer showed; of an infrared one, what the panel then was [°C].
    u_K : float
        Standard uncertainty with what the panel model leaves out [K].
    infrared : bool
        Whether it was read without touching.
    setting : float or None
        Emissivity set on the thermometer [-].
    on : str or None
        What was looked at.
    own_u_K : float or None
        Standard uncertainty of the thermometer, where it is given [K].
    words : str
        What was made of it.
    """

    along_mm: float
    minute: float
    value_C: float
    u_K: float
    infrared: bool = False
    setting: float | None = None
    on: str | None = None
    own_u_K: float | None = None
    words: str = ""


@dataclass(frozen=True)
class Learned:
    """An ensemble after the readings.

    Parameters
    ----------
    ensemble : Ensemble
        Weighted members.
    checks : tuple of ReadingCheck
        Each reading beside what is now expected there.
    notes : tuple of str
        Disagreements in words.
    surprise : float
        χ² of the readings that count under what was thought before, one degree of freedom each [-].
    """

    ensemble: Ensemble
    checks: tuple[ReadingCheck, ...] = ()
    notes: tuple[str, ...] = ()
    surprise: float = 0.0


def combined_u(own_K: float | None) -> float:
    """Standard uncertainty of a reading with the panel model's own [K].

    Parameters
    ----------
    own_K : float or None
        The thermometer's; None: the common value [K].

    Returns
    -------
    float
        [K]
    """
    thermometer = own_K if own_K is not None else spread("thermometer")
    return float(np.hypot(thermometer, spread("panel model")))


def whitening(readings: Sequence[Reading]) -> NDArray[np.float64]:
    """What makes the errors of readings independent, each with standard uncertainty 1.

    Wᵀ W = R⁻¹, R_ii = u_i², R_ij = √(u_i² − p²) √(u_j² − p²)   (1)

    for readings i and j of one kind of thermometer (contact, infrared), which have its error in
    common, 0 for others; p is what the panel model leaves out at each reading by itself.

    Parameters
    ----------
    readings : sequence of Reading
        r of them.

    Returns
    -------
    array, shape (r, r)
        Lower triangle [1/K].

    References
    ----------
    JCGM 100:2008 (GUM), F.1.2.3: what is measured with one instrument is correlated (from memory).
    """
    u = np.array([reading.u_K for reading in readings])
    kind = np.array([reading.infrared for reading in readings])
    common = np.sqrt(np.maximum(u**2 - spread("panel model") ** 2, 0.0))
    common[u >= TEACHES_K] = 0.0
    covariance = np.where(kind[:, None] == kind, np.outer(common, common), 0.0)
    np.fill_diagonal(covariance, u**2)
    return np.asarray(np.linalg.inv(np.linalg.cholesky(covariance)), dtype=np.float64)


def _expected(
    plan: HeatPlan, ensemble: Ensemble, readings: Sequence[Reading]
) -> NDArray[np.float64]:
    """What every member expects at each reading, shape (m, r) [°C]."""
    places = tuple(sorted({reading.along_mm for reading in readings}))
    only = replace(plan, spots_mm=places)
    last = max(reading.minute for reading in readings)
    history = temperature_history(replace(panel_setup(only, ensemble), until_min=last + 1.0))
    columns = []
    for reading in readings:
        spot = history.celsius[:, places.index(reading.along_mm), :]
        right = int(np.clip(np.searchsorted(history.minutes, reading.minute), 1, None))
        left, end = history.minutes[right - 1], history.minutes[right]
        part = (reading.minute - left) / (end - left)
        columns.append(spot[:, right - 1] + part * (spot[:, right] - spot[:, right - 1]))
    return np.stack(columns, axis=1)


def _members(thermal: NDArray[np.float64]) -> Ensemble:
    """Members with these thermal inputs and the law at its likely values."""
    table = np.zeros((len(thermal), len(Input)))
    table[:, :THERMAL] = thermal
    return Ensemble(table, np.full(len(thermal), 1.0 / len(thermal)))


def fitted_inputs(
    plan: HeatPlan, readings: Sequence[Reading]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Likeliest thermal inputs, their covariance, and what they expect, by Gauss–Newton.

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    readings : sequence of Reading
        At least one.

    Returns
    -------
    likeliest : array, shape (6,)
        Standard normal inputs, `Input` before the law's [-].
    covariance : array, shape (6, 6)
        [-]
    expected : array, shape (r,)
        At the readings [°C].
    """
    observed = np.array([reading.value_C for reading in readings])
    white = whitening(readings)
    now = np.zeros(THERMAL)
    covariance, expected = np.eye(THERMAL), observed
    for _ in range(ROUNDS):
        around = np.vstack([now, now + DIFFERENCE * np.eye(THERMAL)])
        table = _expected(plan, _members(around), readings)
        expected = table[0]
        slopes = white @ ((table[1:] - expected) / DIFFERENCE).T
        covariance = np.linalg.inv(np.eye(THERMAL) + slopes.T @ slopes)
        misfit = white @ (observed - expected)
        change = covariance @ (slopes.T @ misfit - now)
        now = np.clip(now + np.clip(change, -1.5, 1.5), -6.0, 6.0)
        if np.abs(change).max() < 1e-3:
            break
    return now, covariance, expected


def _redraw(
    plan: HeatPlan,
    readings: Sequence[Reading],
    likeliest: NDArray[np.float64],
    covariance: NDArray[np.float64],
) -> Ensemble:
    """Members drawn about the likeliest inputs, weighted to the true posterior."""
    prior = fixed_ensemble().normals.copy()
    drawn = prior[:, :THERMAL]
    thermal = likeliest + drawn @ np.linalg.cholesky(covariance).T
    table = prior.copy()
    table[:, :THERMAL] = thermal
    even = Ensemble(table, np.full(MEMBERS, 1.0 / MEMBERS))
    observed = np.array([reading.value_C for reading in readings])
    misfit = (_expected(plan, even, readings) - observed) @ whitening(readings).T
    log_weight = 0.5 * (
        np.sum(drawn**2, axis=1) - np.sum(thermal**2, axis=1) - np.sum(misfit**2, axis=1)
    )
    weight = np.exp(log_weight - log_weight.max())
    return Ensemble(table, weight / weight.sum())


def _disagreements(farthest: float, checks: Sequence[ReadingCheck]) -> tuple[str, ...]:
    notes = [
        f"The reading {check.value_C:.0f} °C at {check.along_mm:.0f} mm, minute {check.minute:g}, "
        f"disagrees with the rest ({check.expected_C:.0f} °C expected): read again."
        for check in checks
        if not check.agrees
    ]
    if farthest > FAR:
        notes.append(
            "The readings lie far from what lamp, distance and surface would give: check distance, "
            "lamp, surface and the minute of each reading before you trust the times."
        )
    return tuple(notes)


def learn(plan: HeatPlan, readings: Sequence[Reading]) -> Learned:
    """Narrow the ensemble with the readings of a joint (Bayes).

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    readings : sequence of Reading
        Temperatures along it [°C, mm, min]; none leaves the ensemble as it is.

    Returns
    -------
    Learned
        Members drawn about the likeliest inputs and weighted by prior × likelihood ÷ draw.

    References
    ----------
    Tierney L., Kadane J.B. (1986) J. Am. Stat. Assoc. 81, 82–86; importance sampling as in
    Robert C.P., Casella G. (2004) Monte Carlo Statistical Methods, chapter 3 (from memory).
    """
    if not readings:
        return Learned(fixed_ensemble())
    likeliest, covariance, expected = fitted_inputs(plan, readings)
    checks = tuple(
        ReadingCheck(
            reading.along_mm,
            reading.minute,
            reading.value_C,
            float(value),
            reading.u_K,
            abs(reading.value_C - float(value)) <= FAR * reading.u_K,
            reading.words,
            reading.u_K < TEACHES_K,
        )
        for reading, value in zip(readings, expected, strict=True)
    )
    ensemble = _redraw(plan, readings, likeliest, covariance)
    off = np.array([reading.value_C for reading in readings]) - expected
    misfit = whitening(readings) @ off
    surprise = float(misfit @ misfit + likeliest @ likeliest)
    notes = _disagreements(float(np.abs(likeliest).max()), checks)
    return Learned(ensemble, checks, notes, surprise)
