"""The best setting: first the worst place, then what is not proven inside, then few changes.

Aims follow one another, each within what the one before has reached:

1. the largest |off| / tolerance of all items is as small as it can be;
2. where it stays above what would be proven inside, so is the sum of what goes beyond that;
3. no adjuster is changed that can be spared for a hundredth of a tolerance;
4. what is left comes as near home as it can on the whole, by the shortest way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjuster_cuts import Cutter, Outcome
from panelwright.fit.adjuster_program import Aim

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.adjuster_task import Task

    Floats = NDArray[np.float64]

SAME = 0.01
"""A hundredth of a tolerance is no reason to change one adjuster more."""
LEAST_CHANGE_MM = 0.1
"""Nobody sets an adjuster by less."""
_NOUGHT_MM = 1e-6
_HAIR = 1e-6
"""What one aim leaves to the next of a tolerance, for rounding."""
_LITTLE = 1e-4
"""Weight of the way [1/mm] against the deviations: it decides only among what is equal."""
_EXACT_MM = 0.0005
"""How far the linear program may be from the exact rotation."""
_MOST_TURNS = 4


@dataclass(frozen=True)
class Best:
    """The best setting that was found.

    Parameters
    ----------
    motions : array, shape (6 p,)
    by_mm : array, shape (n,)
        Exact changes of the knobs.
    moved_mm : array, shape (r,)
        Exact displacements of all rows.
    ratios : array, shape (j,)
        Exact |off| / tolerance of all items.
    left : frozenset of int
        Knobs that were left alone on purpose.
    cutter : Cutter
        The program about this position.
    """

    motions: Floats
    by_mm: Floats
    moved_mm: Floats
    ratios: Floats
    left: frozenset[int]
    cutter: Cutter


def best_setting(task: Task) -> Best | None:
    """Find the best setting of a task's adjusters.

    Parameters
    ----------
    task : Task

    Returns
    -------
    Best or None
        None where what is held contradicts itself. No change is smaller than what the readings
        show of it (one standard uncertainty), or than anybody would make.
    """
    left: frozenset[int] = frozenset()
    while True:
        best = _exactly(task, left)
        if best is None:
            return None
        small = {
            k
            for k, knob in enumerate(task.knobs)
            if _NOUGHT_MM < abs(best.by_mm[k]) < max(LEAST_CHANGE_MM, knob.u_mm or 0.0)
        }
        if not small - left:
            return best
        left |= small


def _exactly(task: Task, left: frozenset[int]) -> Best | None:
    """Solve, and linearise anew about the solution until that is exact."""
    best, about = None, task.rows.home
    for turn in range(_MOST_TURNS):
        cutter = Cutter(task, about)
        staged = _staged(cutter, left)
        if staged is None and turn == 0:
            # Far from where the parts are, what is held may seem to contradict itself.
            cutter = Cutter(task, np.where(np.repeat(_free(task), 6), 0.0, about))
            staged = _staged(cutter, left)
        if staged is None:
            break
        outcome, spared = staged
        moved, _ = task.rows.at(outcome.motions)
        by_mm = _changes(task, outcome, moved, left | spared)
        best = Best(outcome.motions, by_mm, moved, task.ratios(moved), left | spared, cutter)
        if np.abs(moved - cutter.linearised.moved(outcome.motions)).max() <= _EXACT_MM:
            break
        about = outcome.motions
    return best


def _free(task: Task) -> list[bool]:
    return [mover.is_free for mover in task.movers]


def _changes(task: Task, outcome: Outcome, moved: Floats, left: frozenset[int]) -> Floats:
    """Whole shims as chosen, slots as the part takes them along."""
    exact = []
    for k, (knob, by_mm) in enumerate(zip(task.knobs, outcome.by_mm, strict=True)):
        if k in left:
            value = 0.0
        elif knob.is_shim:
            value = round(by_mm / knob.step_mm) * knob.step_mm
        else:
            value = min(max(float(moved[knob.row]), knob.low_mm), knob.high_mm)
        exact.append(0.0 if abs(value) < _NOUGHT_MM else value)
    return np.array(exact)


def _staged(cutter: Cutter, left: frozenset[int]) -> tuple[Outcome, frozenset[int]] | None:
    """The four aims after one another, and the knobs that the third spares."""
    first = _first(cutter, left)
    if first is None:
        return None
    spared = _spared(cutter, first, left)
    if spared - left:
        first = _first(cutter, spared) or first
    within = replace(_within(cutter, first, _HAIR), left=spared)
    return cutter.best(replace(within, total=1.0, size=_LITTLE, gap=SAME)) or first, spared


def _first(cutter: Cutter, left: frozenset[int]) -> Outcome | None:
    """Aims 1 and 2."""
    first = cutter.best(Aim(worst=1.0, left=left))
    if first is None or first.excess <= SAME:
        return first
    within = replace(_within(cutter, first, _HAIR), most_excess=np.inf)
    return cutter.best(replace(within, excess=1.0, left=left)) or first


def _within(cutter: Cutter, reached: Outcome, slack: float) -> Aim:
    """An aim that gives nothing of what was reached away, but for a slack."""
    at_most = np.full(len(cutter.task.items), reached.worst + slack)
    return Aim(at_most=at_most, most_excess=reached.excess + slack * len(at_most))


def _spared(cutter: Cutter, first: Outcome, left: frozenset[int]) -> frozenset[int]:
    """Aim 3: knobs that need not be changed.

    Where no single one can be spared, none can; only else is it worth a search with whole numbers.
    """
    knobs = range(len(cutter.task.knobs))
    within = _within(cutter, first, SAME)
    stays = left | {k for k in knobs if cutter.task.knobs[k].is_stuck}
    needed = {k for k in knobs if k not in stays and not _can_stay(cutter, within, left | {k})}
    if len(needed) + len(stays) == len(knobs):
        return left
    few = cutter.best(replace(within, changed=1.0, left=left))
    if few is None:
        return left
    return left | {k for k in knobs if k not in stays and abs(few.by_mm[k]) <= _NOUGHT_MM}


def _can_stay(cutter: Cutter, within: Aim, left: frozenset[int]) -> bool:
    return cutter.may(replace(within, left=left))
