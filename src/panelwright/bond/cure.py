"""When a joint cures: ages of all its spots over an ensemble, and the times they reach."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.age import equivalent_age, minutes_to_age
from panelwright.bond.answer import Band
from panelwright.bond.arrhenius import CureLaw, cure_rate
from panelwright.bond.ensemble import SPOKEN, Ensemble, Input, weighted_quantiles
from panelwright.bond.rows import Milestone
from panelwright.sources import Share

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.panel import PanelHistory

LEVELS = (0.1, 0.5, 0.9)
"""Early, likely, late."""
ENERGY_BOUNDS_KJ = (20.0, 120.0)


@dataclass(frozen=True)
class LawMembers:
    """The data-sheet law of every member.

    Parameters
    ----------
    events : tuple of Milestone
        Those the sheet gives.
    wanted_min : array, shape (m, k)
        Equivalent age at each event, rising along k [min].
    energy_kJ_mol : array, shape (m,)
        Activation energy [kJ/mol].
    reference_C : float
        Of the equivalent ages [°C].
    """

    events: tuple[Milestone, ...]
    wanted_min: NDArray[np.float64]
    energy_kJ_mol: NDArray[np.float64]
    reference_C: float

    def wanted(self, event: Milestone) -> NDArray[np.float64] | None:
        """Equivalent age of every member at an event, shape (m,); None: not on the sheet."""
        return self.wanted_min[:, self.events.index(event)] if event in self.events else None


def law_members(law: CureLaw, ensemble: Ensemble) -> LawMembers:
    """Draw the law from its covariance.

    Parameters
    ----------
    law : CureLaw
        Fitted to the sheet.
    ensemble : Ensemble
        m members.

    Returns
    -------
    LawMembers
        Events in their order in every member.

    References
    ----------
    Multivariate normal by the Cholesky factor of the covariance.
    """
    size = len(law.events) + 1
    normals = ensemble.normals[:, Input.LAW_A : Input.LAW_A + size]
    covariance = np.array(law.covariance)
    scale = np.sqrt(np.diag(covariance))
    factor = scale[:, None] * np.linalg.cholesky(covariance / np.outer(scale, scale))
    drawn = np.array([*law.ln_min, law.energy_kJ_mol]) + normals @ factor.T
    return LawMembers(
        events=law.events,
        wanted_min=np.exp(np.maximum.accumulate(drawn[:, :-1], axis=1)),
        energy_kJ_mol=np.clip(drawn[:, -1], *ENERGY_BOUNDS_KJ),
        reference_C=law.reference_C,
    )


@dataclass(frozen=True)
class Ages:
    """Equivalent ages of all spots.

    Parameters
    ----------
    history : PanelHistory
        n times, m members, s spots.
    age_min : array, shape (m, s, n)
        Equivalent age from closing on [min].
    after_rate : array, shape (m,)
        Speed of cure in air, after the history's end [-].
    bench_rate : array, shape (m,)
        Speed of cure on the panel before closing [-].
    """

    history: PanelHistory
    age_min: NDArray[np.float64]
    after_rate: NDArray[np.float64]
    bench_rate: NDArray[np.float64]


def ages_of(
    law: LawMembers,
    history: PanelHistory,
    *,
    air_C: NDArray[np.float64],
    start_C: NDArray[np.float64],
) -> Ages:
    """Equivalent ages of every spot of every member; before closing the warmer of air and panel.

    Parameters
    ----------
    law : LawMembers
        Of m members.
    history : PanelHistory
        Temperatures after closing.
    air_C, start_C : array, shape (m,)
        Air, and panel at closing [°C].

    Returns
    -------
    Ages
    """
    energy = law.energy_kJ_mol
    age = equivalent_age(
        history.minutes,
        history.celsius,
        reference_C=law.reference_C,
        energy_kJ_mol=energy[:, None, None],
    )
    return Ages(
        history,
        age,
        cure_rate(air_C, law.reference_C, energy),
        cure_rate(np.maximum(air_C, start_C), law.reference_C, energy),
    )


def spot_times(ages: Ages, wanted_min: NDArray[np.float64]) -> NDArray[np.float64]:
    """When each spot reaches an age, shape (m, s), minutes after closing.

    Parameters
    ----------
    ages : Ages
        Of m members and s spots.
    wanted_min : array, shape (m,)
        Equivalent age [min].

    Returns
    -------
    array, shape (m, s)
        [min]
    """
    members, spots, times = ages.age_min.shape
    flat = minutes_to_age(
        ages.history.minutes,
        ages.age_min.reshape(-1, times),
        np.repeat(wanted_min, spots),
        np.repeat(ages.after_rate, spots),
    )
    return flat.reshape(members, spots)


def work_times(
    ages: Ages, wanted_min: NDArray[np.float64], gap_min: float | None
) -> NDArray[np.float64]:
    """When the first spot is past working, shape (m,), minutes after the bead was begun.

    Parameters
    ----------
    ages : Ages
        Of the joint after closing.
    wanted_min : array, shape (m,)
        Equivalent age at the end of the work time [min].
    gap_min : float or None
        From bead-begun to closed [min]; None: no lamp was switched on, and none will be before
        the work is done.

    Returns
    -------
    array, shape (m,)
        [min]

    References
    ----------
    Equivalent age in two stretches: bench, then the joint's own history.
    """
    on_bench = wanted_min / ages.bench_rate
    if gap_min is None:
        return on_bench
    left = wanted_min - ages.bench_rate * max(gap_min, 0.0)
    first = spot_times(ages, np.maximum(left, 0.0)).min(axis=1)
    return np.where(left <= 0.0, on_bench, max(gap_min, 0.0) + first)


def band(values: NDArray[np.float64], ensemble: Ensemble) -> Band:
    """Early, likely and late of weighted members.

    Parameters
    ----------
    values : array, shape (m,)
        Times of the members [min].
    ensemble : Ensemble
        Their weights.

    Returns
    -------
    Band
        10, 50 and 90 % [min].
    """
    early, likely, late = weighted_quantiles(values, ensemble.weights, LEVELS)
    return Band(float(early), float(likely), float(late))


def coldest_place(times: NDArray[np.float64], ensemble: Ensemble) -> int:
    """The spot that cures last in the likely case.

    Parameters
    ----------
    times : array, shape (m, s)
        When each spot is cured [min].
    ensemble : Ensemble
        Weights of the members.

    Returns
    -------
    int
        Number of the spot; the first where several are alike.
    """
    likely = weighted_quantiles(times, ensemble.weights, (0.5,))[0]
    return int(np.argmax(np.round(likely, 6)))


def shares_of(times: NDArray[np.float64], ensemble: Ensemble) -> tuple[Share, ...]:
    """What each input contributes to the variance of a time.

    Var t ≈ Σ b_i Cov(x_i, t), b by weighted least squares on the inputs   (1)

    Parameters
    ----------
    times : array, shape (m,)
        [min]
    ensemble : Ensemble
        m members.

    Returns
    -------
    tuple of Share
        Variances [min²]; what is not linear stands under its own name.

    References
    ----------
    Saltelli A. et al. (2008) Global Sensitivity Analysis, section 1.2.5 (from memory).
    """
    weights = ensemble.weights
    inputs = ensemble.normals - weights @ ensemble.normals
    centred = times - weights @ times
    root = np.sqrt(weights)
    slopes = np.linalg.lstsq(inputs * root[:, None], centred * root, rcond=None)[0]
    parts = slopes * (inputs.T @ (weights * centred))
    total = float(weights @ centred**2)
    found: dict[str, float] = {}
    for which, part in zip(Input, parts, strict=True):
        name = SPOKEN[which]
        found[name] = found.get(name, 0.0) + max(float(part), 0.0)
    found["curvature of the model"] = max(total - float(parts.sum()), 0.0)
    kept = sorted(found.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Share(name, variance) for name, variance in kept if variance > 1e-3 * total)
