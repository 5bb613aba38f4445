"""The best outcome for an aim: planes are added until every distance is held as a ball would."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjuster_program import Built, Linearised, build
from panelwright.fit.adjuster_task import off

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.adjuster_program import Aim
    from panelwright.fit.adjuster_task import Item, Task

    Floats = NDArray[np.float64]

TOUCH = 5e-4
"""|off| / tolerance may exceed its r by so much."""
_MOST_PLANES = 25
_MOST_ROUNDS = 6
_FACES = np.concatenate([np.eye(3), -np.eye(3)])
_CORNERS = np.array(list(product((-1.0, 1.0), repeat=3))) / np.sqrt(3.0)
_BALL = np.concatenate([_FACES, _CORNERS])
"""A ball's first planes: more would be rows that few solutions need."""
_INTERVAL = np.array([[1.0], [-1.0]])


@dataclass(frozen=True)
class Outcome:
    """What a solution does.

    Parameters
    ----------
    motions : array, shape (6 p,)
        Of the parts [mm].
    by_mm : array, shape (n,)
        Changes of the knobs.
    ratios : array, shape (j,)
        |off| / tolerance of the items, by the linear program.
    excess : float
        Σ max(0, ratio − floor).
    """

    motions: Floats
    by_mm: Floats
    ratios: Floats
    excess: float

    @property
    def worst(self) -> float:
        """The largest ratio."""
        return float(self.ratios.max())


class Cutter:
    """A task, linearised, with the planes that were needed so far."""

    def __init__(self, task: Task, about: Floats) -> None:
        values, slopes = task.rows.at(about)
        planes = tuple(_BALL if len(item.rows) > 1 else _INTERVAL for item in task.items)
        self.linearised = Linearised(task, values - slopes @ about, slopes, planes)

    @property
    def task(self) -> Task:
        """What is to be brought about."""
        return self.linearised.task

    def best(self, aim: Aim) -> Outcome | None:
        """The best outcome for an aim; None where nothing meets its limits.

        Parameters
        ----------
        aim : Aim

        Returns
        -------
        Outcome or None
        """
        built = build(self.linearised, aim)
        if not any(built.program.whole):
            return self._touching(built, aim, None)
        outcome = None
        for _ in range(_MOST_ROUNDS):
            built = build(self.linearised, aim)
            x = built.program.solve(gap=aim.gap)
            if x is None:
                return None
            if not self._cut(built, x):
                return self._outcome(built, x)
            # The whole numbers stay; what is left settles on the planes that it needs.
            settled = self._touching(built, aim, x)
            if settled is not None:
                outcome, cost = settled, self._cost
                if cost - built.program.value(x) <= TOUCH:
                    break
        return outcome

    def may(self, aim: Aim) -> bool:
        """Whether an aim can be met, as far as is known without more planes and whole numbers.

        Parameters
        ----------
        aim : Aim

        Returns
        -------
        bool
            False is certain, True is not.
        """
        return build(self.linearised, aim).program.solve(relaxed=True) is not None

    _cost: float = 0.0

    def _touching(self, built: Built, aim: Aim, whole_as: Floats | None) -> Outcome | None:
        """Solve without whole numbers, or with these, until no ball is overstepped."""
        x = None
        for _ in range(_MOST_PLANES):
            x = built.program.solve(relaxed=whole_as is None, whole_as=whole_as)
            if x is None:
                return None
            self._cost = built.program.value(x)
            if not self._cut(built, x):
                break
            built = build(self.linearised, aim)
        return None if x is None else self._outcome(built, x)

    def _outcome(self, built: Built, x: Floats) -> Outcome:
        motions = built.motions(x)
        ratios = self.task.ratios(self.linearised.moved(motions))
        floors = np.array([item.floor for item in self.task.items])
        excess = float(np.maximum(ratios - floors, 0.0).sum())
        return Outcome(motions, built.by_mm(x), ratios, excess)

    def _cut(self, built: Built, x: Floats) -> bool:
        """Add the planes that a solution needs; whether it needed any."""
        moved = self.linearised.moved(built.motions(x))
        r, planes, needed = built.ratios(x), list(self.linearised.planes), False
        for k, item in enumerate(self.task.items):
            plane = _plane(item, off(item, moved), float(r[k]))
            if plane is not None:
                planes[k] = np.concatenate([planes[k], plane])
                needed = True
        if needed:
            task, constant, slopes = self.task, self.linearised.constant, self.linearised.slopes
            self.linearised = Linearised(task, constant, slopes, tuple(planes))
        return needed


def _plane(item: Item, vector: Floats, r: float) -> Floats | None:
    """The plane towards a place beyond its ball, shape (1, 3); None where it is not beyond."""
    length = float(np.linalg.norm(vector))
    if len(item.rows) < 2 or length <= item.tolerance_mm * (r + TOUCH):
        return None
    return vector[None, :] / length
