"""What keeps parts from coming inside: what has to give way, tried in this order.

More range of the adjusters; thinner shims; flanges and pins; hinges. Else it is the rigid part.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjuster_answer import Limit, LimitKind
from panelwright.fit.adjuster_program import Aim
from panelwright.fit.adjuster_words import limit_words
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.adjuster_cuts import Outcome
    from panelwright.fit.adjuster_search import Best
    from panelwright.fit.adjuster_task import Task

    Floats = NDArray[np.float64]

_LEAST_MORE_MM = 0.01
_MORE = Aim(more=1.0, size=1e-4)


def limits_of(task: Task, best: Best) -> tuple[Limit, ...]:
    """What would have to give way for all that the best setting leaves outside, or not proven.

    Parameters
    ----------
    task : Task
    best : Best

    Returns
    -------
    tuple of Limit
        Empty where everything is inside.
    """
    wanted = _wanted(task, best)
    if wanted is None:
        return ()
    more = replace(_MORE, at_most=wanted)
    found = best.cutter.best(more)
    if found is not None and (ranges := tuple(_ranges(task, found))):
        return ranges
    if best.cutter.best(replace(more, smooth=True)) is not None:
        return (_other(LimitKind.STEP),)
    found = best.cutter.best(replace(more, smooth=True, loose=True))
    if found is not None:
        return (_flanges(task, best, found), *_ranges(task, found))
    if best.cutter.best(replace(more, smooth=True, loose=True, unhinged=True)) is not None:
        return (_other(LimitKind.HINGE),)
    return (_other(LimitKind.RIGID),)


def _wanted(task: Task, best: Best) -> Floats | None:
    """Ratio that every item should have: inside, and where that is reached, proven inside."""
    ones = np.ones(len(task.items))
    if best.ratios.max() > 1.0:
        return ones
    floors = np.array([item.floor for item in task.items])
    # What these readings could not prove even at home asks for readings, not for range.
    wanted = np.where(floors > 0.0, floors, ones)
    return None if np.all(best.ratios <= wanted) else wanted


def _ranges(task: Task, found: Outcome) -> list[Limit]:
    limits = []
    for knob, by_mm in zip(task.knobs, found.by_mm, strict=True):
        more_mm = max(by_mm - knob.high_mm, 0.0) + min(by_mm - knob.low_mm, 0.0)
        if abs(more_mm) >= _LEAST_MORE_MM and not knob.is_stuck:
            label = knob.facts.label
            words = limit_words(LimitKind.RANGE, label, more_mm)
            limits.append(Limit(LimitKind.RANGE, words, knob.facts.part, label, more_mm))
    return limits


def _other(kind: LimitKind) -> Limit:
    return Limit(kind, limit_words(kind, ""))


def _flanges(task: Task, best: Best, found: Outcome) -> Limit:
    """Flanges and pins that the way there oversteps."""
    moved = best.cutter.linearised.moved(found.motions)
    over = [
        bound.name
        for bound in task.bounds
        if not bound.low_mm - _LEAST_MORE_MM <= moved[bound.row] <= bound.high_mm + _LEAST_MORE_MM
    ]
    return Limit(LimitKind.FLANGE, limit_words(LimitKind.FLANGE, joined(list(dict.fromkeys(over)))))
