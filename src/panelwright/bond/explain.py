"""Readings far from what lamp and surface give: which explanation is likelier, in words."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import gammaincc

from panelwright.bond.ensemble import Input
from panelwright.bond.lamps import LampPlan, of_surface
from panelwright.bond.readings import TEACHES_K, Learned, Reading, fitted_inputs, whitening

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panelwright.bond.heat import HeatPlan

SAY_FROM = 3.2
"""An explanation must be likelier than the figures as entered by this factor ("substantial"
evidence: Jeffreys 1961, from memory)."""
SURPRISING = 0.25
"""Chance of readings this far off or farther, were all figures as entered: above it slips are not
looked for, below it their odds decide."""
BESIDE = 3.0
"""A second one is named where the best is not likelier than it by this factor."""
DISTANCE_U = 0.35
"""Relative, of a lamp that may stand anywhere."""
SHIFTS_MM = (-300.0, -150.0, 150.0, 300.0)
SURFACES = {
    "bare": "bright metal",
    "oxidised": "dull metal",
    "primed": "primer",
    "painted": "paint",
}


@dataclass(frozen=True)
class Explanation:
    """One way that the joint may really be heated.

    Parameters
    ----------
    words : str
        With what it would have to be.
    log_odds : float
        Natural logarithm of how much likelier it is than the figures as entered.
    """

    words: str
    log_odds: float


def log_evidence(plan: HeatPlan, readings: Sequence[Reading]) -> tuple[float, float]:
    """How well a joint so heated explains its readings, and the distance that it would take.

    ln Z ≈ −½ Σ(r/u)² − ½ zᵀz + ½ ln det C − Σ ln u   (1)

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    readings : sequence of Reading
        At least one.

    Returns
    -------
    log_evidence : float
        Up to a constant that all plans share.
    distance : float
        Likeliest standard normal value of the lamp's distance [-].

    References
    ----------
    Laplace's approximation: Kass R.E., Raftery A.E. (1995) J. Am. Stat. Assoc. 90, 773–795 (from
    memory).
    """
    normal, covariance, expected = fitted_inputs(plan, readings)
    misfit = whitening(readings) @ (np.array([one.value_C for one in readings]) - expected)
    _, log_det = np.linalg.slogdet(covariance)
    found = -0.5 * float(misfit @ misfit) - 0.5 * float(normal @ normal) + 0.5 * float(log_det)
    return found, float(normal[Input.DISTANCE])


def _ways(plan: HeatPlan) -> Iterator[tuple[str, HeatPlan]]:
    """Each usual slip as a plan of its own; a lamp's distance in words is put in afterwards."""
    first = plan.lamps[0]

    def every(change: dict[str, object]) -> HeatPlan:
        return replace(plan, lamps=tuple(replace(one, **change) for one in plan.lamps))  # type: ignore[arg-type]

    for surface, words in SURFACES.items():
        if surface != first.surface:
            absorptivity, emissivity = of_surface(surface)
            change: dict[str, object] = {"absorptivity": absorptivity, "emissivity": emissivity}
            yield f"the lamp shines on {words}, not on {_said(first)}", every(change)
    wide = tuple(replace(one, distance_u_mm=DISTANCE_U * one.distance_mm) for one in plan.lamps)
    yield "", replace(plan, lamps=wide)
    for shift in SHIFTS_MM:
        moved = tuple(
            replace(one, centre_mm=(one.centre_mm[0] + shift, one.centre_mm[1]))
            for one in plan.lamps
        )
        where = "nearer to" if shift < 0 else "farther from"
        yield (
            f"the lamp stands about {abs(shift):.0f} mm {where} the joint's start than entered",
            replace(plan, lamps=moved),
        )
    yield "the lamp was not on, or not as long as entered", every({"stays": ()})


def _said(lamp: LampPlan) -> str:
    return SURFACES.get(lamp.surface, "a surface that nobody named")


def explanations(plan: HeatPlan, readings: Sequence[Reading]) -> tuple[Explanation, ...]:
    """Usual slips that would explain the readings of a heated joint, likeliest first.

    Parameters
    ----------
    plan : HeatPlan
        With lamps.
    readings : sequence of Reading
        Those that count.

    Returns
    -------
    tuple of Explanation
        Each against the figures as entered, and after a prior that holds all slips alike.
    """
    entered, _ = log_evidence(plan, readings)
    found = []
    for words, way in _ways(plan):
        evidence, distance = log_evidence(way, readings)
        if not words:
            lamp = way.lamps[0]
            there = max(lamp.distance_mm + lamp.distance_u_mm * distance, 0.1 * lamp.distance_mm)
            words = (  # noqa: PLW2901 - the distance is known only now
                f"the lamp stands about {_tens(there):.0f} mm off, not {lamp.distance_mm:.0f} mm"
            )
        found.append(Explanation(words, evidence - entered))
    return tuple(sorted(found, key=lambda one: -one.log_odds))


def _tens(mm: float) -> float:
    return 10.0 * round(mm / 10.0)


def explained(plan: HeatPlan, learned: Learned, readings: Sequence[Reading]) -> Learned:
    """What was learned, with the likelier explanation in words where readings disagree.

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    learned : Learned
        By `panelwright.bond.readings.learn`.
    readings : sequence of Reading
        It was learned from.

    Returns
    -------
    Learned
        The same where nothing disagrees, or no explanation is much likelier.
    """
    counting = [one for one in readings if one.u_K < TEACHES_K]
    if not (counting and plan.lamps):
        return learned
    chance = float(gammaincc(0.5 * len(counting), 0.5 * learned.surprise))
    if chance > SURPRISING and all(one.agrees for one in learned.checks):
        return learned
    best, second, *_ = explanations(plan, counting)
    if best.log_odds < math.log(SAY_FROM):
        return replace(learned, notes=(*learned.notes, NOTHING_FITS))
    also = ""
    if best.log_odds - second.log_odds < math.log(BESIDE):
        also = f" Nearly as likely: {second.words}."
    where = max(counting, key=lambda one: one.minute).along_mm
    times = f"{math.exp(best.log_odds):.0f} times" if best.log_odds < math.log(100.0) else "Far"
    words = (
        f"{times} likelier than the figures entered: {best.words}.{also} Look, set it right, and "
        f"read again at {where:.0f} mm."
    )
    return replace(learned, notes=(*learned.notes, words))


NOTHING_FITS = (
    "No usual slip (surface, distance, place of the lamp, lamp off) explains the readings much "
    "better: read each again with a contact thermometer, and look at its minute."
)
