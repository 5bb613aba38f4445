"""Which reading to take next: the one that is expected to settle most verdicts in its time.

Where no single reading is expected to settle anything, the one that takes away most of the doubt
in its time leads. The doubt is the sum, over all places without a verdict, of the variance of
their displacement in units of their tolerance; a reading with derivatives a and variance s² lowers
it by ‖M Q a‖² / (s² + aᵀ Q a), with Q the covariance of the unknowns and M the places'
derivatives: the A-criterion of optimal design.

References
----------
A. C. Atkinson, A. N. Donev, Optimum Experimental Designs, 1992 (from memory).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.foresight import with_rows
from panelwright.fit.next_answer import Foretold, NextReading, Together
from panelwright.fit.next_words import reading_of, together_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.survey import Survey

    Floats = NDArray[np.float64]

MOST = 5
MOST_TOGETHER = 3
TRIED = 12
"""How many candidates are tried as the next of a set, those that take away most of its doubt."""
WORTH_SAYING = 0.05
"""Expected verdicts below which a set of readings is not worth naming."""
SETTLES_LITTLE = 0.01
"""Expected verdicts below which the doubt that a reading takes away ranks it."""
_NOUGHT = 1e-6


def order_of(survey: Survey) -> tuple[list[int], Floats]:
    """Candidates, best first, and the share of the doubt that each takes away.

    Parameters
    ----------
    survey : Survey

    Returns
    -------
    list of int
    array, shape (c,)
    """
    doubt = float(np.trace(survey.outlook.known))
    weights = np.ones(len(survey.rows))
    reliefs = survey.outlook.reliefs(weights)
    gain = np.clip(reliefs / doubt, 0.0, 1.0) if doubt > 0.0 else np.zeros_like(reliefs)
    settles = survey.settled.sum(axis=1)
    minutes = survey.pool.minutes
    by_verdict = np.where(settles >= SETTLES_LITTLE, settles, 0.0) / minutes
    order = np.lexsort((-gain / minutes, -np.round(by_verdict, 9)))
    return [c for c in order.tolist() if gain[c] > 0.0], gain


def next_readings(survey: Survey | None) -> tuple[NextReading, ...]:
    """The five readings that are expected to settle most in their time, best first.

    Parameters
    ----------
    survey : Survey or None

    Returns
    -------
    tuple of NextReading
        None without doubt.
    """
    if survey is None or not survey.pool.what:
        return ()
    order, gain = order_of(survey)
    return tuple(_as_answer(survey, c, float(gain[c])) for c in order[:MOST])


def _as_answer(survey: Survey, candidate: int, gain: float) -> NextReading:
    reading = reading_of(survey.pool.what[candidate], survey.network)
    return replace(
        reading,
        gain=gain,
        settles=float(survey.settled[candidate].sum()),
        foretold=foretold(survey, (candidate,)),
    )


def answer_of(survey: Survey, candidate: int) -> NextReading:
    """A candidate as the answer says it.

    Parameters
    ----------
    survey : Survey
    candidate : int

    Returns
    -------
    NextReading
    """
    taken = float(np.trace(survey.outlook.relief(candidate)))
    return _as_answer(survey, candidate, taken / float(np.trace(survey.outlook.known)))


def foretold(survey: Survey, chosen: tuple[int, ...]) -> tuple[Foretold, ...]:
    """Uncertainty of every place in doubt once some candidates are read.

    Parameters
    ----------
    survey : Survey
    chosen : tuple of int

    Returns
    -------
    tuple of Foretold
    """
    pool = survey.pool
    rows = np.concatenate([pool.rows[pool.own(c)] for c in chosen])
    variances = np.concatenate([pool.variances[pool.own(c)] for c in chosen])
    covariance, free = with_rows(rows, variances, survey.exact, survey.free)
    found = []
    for one in survey.doubted:
        follow = pool.columns.widened(one.follow)
        variance = np.einsum("iu,uv,iv->i", follow, covariance, follow)
        reach = np.abs(follow @ free).max(axis=1, initial=0.0)
        open_ = reach > _NOUGHT * np.abs(follow).sum(axis=1)
        u_mm = tuple(
            None if is_open else float(np.sqrt(max(v, 0.0)))
            for v, is_open in zip(variance.tolist(), open_.tolist(), strict=True)
        )
        found.append(Foretold(one.id, u_mm))
    return tuple(found)


def readings_together(survey: Survey | None) -> tuple[Together, ...]:
    """What two and three readings together are expected to settle, chosen one after the other.

    Parameters
    ----------
    survey : Survey or None

    Returns
    -------
    tuple of Together
        Of two readings, then of three; none where they are not expected to settle anything.
    """
    if survey is None or not survey.pool.what:
        return ()
    order, gain = order_of(survey)
    if not order:
        return ()
    by_doubt = int(np.argmax(gain / survey.pool.minutes))
    found: tuple[Together, ...] = ()
    for first in dict.fromkeys((order[0], by_doubt)):
        grown = _grown(survey, first)
        if not found or (grown and grown[-1].settles > found[-1].settles + SETTLES_LITTLE):
            found = grown
    return found if found and found[-1].settles >= WORTH_SAYING else ()


def _grown(survey: Survey, first: int) -> tuple[Together, ...]:
    chosen: tuple[int, ...] = (first,)
    found: list[Together] = []
    settled = survey.settled[first]
    while len(chosen) < MOST_TOGETHER:
        following = best_addition(survey, chosen, settled)
        if following is None:
            break
        chosen, settled = following
        readings = tuple(answer_of(survey, c) for c in chosen)
        minutes = float(survey.pool.minutes[list(chosen)].sum())
        settles = float(settled.sum())
        words = together_words(readings, settles, len(survey.doubted), minutes)
        found.append(Together(readings, settles, minutes, words))
    return tuple(found)


def best_addition(
    survey: Survey, chosen: tuple[int, ...], settled: Floats, place: int | None = None
) -> tuple[tuple[int, ...], Floats] | None:
    """The set with the one reading more that settles most in the time it adds.

    Candidates that take away most of the doubt left in their time are tried.

    Parameters
    ----------
    survey : Survey
    chosen : tuple of int
        Candidates of the set so far; may be empty.
    settled : array, shape (n,) or (1,)
        Chance that it settles each place, or the one place.
    place : int or None
        The one place that is to be settled; None: all.

    Returns
    -------
    tuple of (tuple of int, array) or None
        None where nothing takes away any doubt.
    """
    outlook = survey.outlook
    for candidate in chosen:
        outlook = outlook.after(candidate)
    weights = np.zeros(len(survey.rows))
    for k, own in enumerate(survey.parts):
        if place is None or k == place:
            weights[own] = 1.0 - settled[k if place is None else 0]
    worth = outlook.reliefs(weights) / survey.pool.minutes
    worth[list(chosen)] = 0.0
    tried = [c for c in np.argsort(-worth)[:TRIED].tolist() if worth[c] > 0.0]
    if not tried:
        return None
    sets = [(*chosen, c) for c in tried]
    found = survey.settled_by(sets, place)
    value = (found.sum(axis=1) - settled.sum()) / survey.pool.minutes[tried]
    best = int(np.argmax(value)) if value.max() > SETTLES_LITTLE else 0
    return sets[best], found[best]
