"""The linear program of adjusters, linearised about one position of the parts.

Unknowns are the parts' motions m [mm], the changes of the adjusters b (of shims: how many, a whole
number), r = |off| / tolerance of every item and t, the largest r. A distance is held by planes that
touch its ball.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.linear_program import LEAST_GAP, LinearProgram

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.adjuster_task import Task

    Floats = NDArray[np.float64]

FARTHEST_MM = 500.0
"""No part is adjusted by more."""
HINGE_PLAY_MM = 0.05
"""How far a hinge may give where more is held than the part has motions. Common practice."""
_HAIR_MM = 1e-3
"""Of room at flanges and pins, so that rounding bars no way."""
_RANK = 1e-3
"""A lever of so little of the part's radius holds no motion of its own."""


@dataclass(frozen=True)
class Aim:
    """What to make small, and within which limits.

    Parameters
    ----------
    worst, total, excess, changed, more, size : float
        Weights: of t; of Σ r; of Σ max(0, r − floor); of how many adjusters are changed; of range
        that adjusters are given beyond theirs [1/mm]; of how far adjusters and parts go, which
        decides among what is equal [1/mm].
    at_most : array, shape (j,), or None
        Largest r of every item.
    most_excess : float
        Largest Σ max(0, r − floor).
    left : frozenset of int
        Knobs that stay as they are.
    gap : float
        How far from the best it may stay where whole numbers are sought, relative.
    smooth, loose, unhinged : bool
        Shims of any thickness; flanges and pins open; hinges and stuck adjusters open.
    """

    worst: float = 0.0
    total: float = 0.0
    excess: float = 0.0
    changed: float = 0.0
    more: float = 0.0
    size: float = 0.0
    at_most: Floats | None = None
    most_excess: float = np.inf
    left: frozenset[int] = frozenset()
    gap: float = LEAST_GAP
    smooth: bool = False
    loose: bool = False
    unhinged: bool = False

    @property
    def weighs_excess(self) -> bool:
        """Whether the excess over floors is weighed or limited."""
        return self.excess > 0.0 or self.most_excess < np.inf


@dataclass(frozen=True)
class Linearised:
    """A task, linearised.

    Parameters
    ----------
    constant : array, shape (r,)
        Displacement of every row at motions 0 [mm].
    slopes : array, shape (r, 6 p)
        By the motions [1].
    planes : tuple of array, each of shape (q, 1 or 3)
        Of every item: unit vectors of the planes that hold it.
    """

    task: Task
    constant: Floats
    slopes: Floats
    planes: tuple[Floats, ...]

    def moved(self, motions: Floats) -> Floats:
        """Displacements of the rows [mm].

        Parameters
        ----------
        motions : array, shape (6 p,)

        Returns
        -------
        array, shape (r,)
        """
        linear: Floats = self.constant + self.slopes @ motions
        return linear


@dataclass(frozen=True)
class Built:
    """The program of one aim, and where its unknowns stand: first, and behind the last.

    Parameters
    ----------
    unit : array, shape (n,)
        Millimetres of one unit of b.
    """

    program: LinearProgram
    m: tuple[int, int]
    b: tuple[int, int]
    r: tuple[int, int]
    unit: Floats

    def motions(self, x: Floats) -> Floats:
        """Motions of a solution, shape (6 p,) [mm]."""
        return x[slice(*self.m)]

    def by_mm(self, x: Floats) -> Floats:
        """Changes of all knobs, shape (n,) [mm]."""
        changes: Floats = x[slice(*self.b)] * self.unit
        return changes

    def ratios(self, x: Floats) -> Floats:
        """The r of all items, shape (j,)."""
        return x[slice(*self.r)]


def build(linearised: Linearised, aim: Aim) -> Built:
    """The matrices of an aim.

    Parameters
    ----------
    linearised : Linearised
    aim : Aim

    Returns
    -------
    Built
    """
    task, program = linearised.task, LinearProgram()
    m = _span(program.add(6 * len(task.movers), *_motion_bounds(task)))
    b, unit = _changes(program, task, aim)
    count = len(task.items)
    highest = np.inf if aim.at_most is None else aim.at_most
    r = _span(program.add(count, 0.0, highest, cost=aim.total))
    t = _span(program.add(1, cost=aim.worst))
    program.hold({r: np.eye(count), t: -np.ones((count, 1))})
    built = Built(program, m, b, r, unit)
    _judge(built, linearised)
    _follow(built, linearised, aim)
    _settle(built, linearised, aim)
    if not aim.loose:
        _bound(built, linearised)
    if aim.weighs_excess:
        floors = np.array([item.floor for item in task.items])
        e = _span(program.add(count, cost=aim.excess))
        program.hold({r: np.eye(count), e: -np.eye(count)}, -np.inf, floors)
        program.hold({e: np.ones((1, count))}, -np.inf, aim.most_excess)
    if aim.size > 0.0:
        _small(program, m, aim.size * np.ones(m[1] - m[0]))
        _small(program, b, aim.size * unit)
    return built


def _span(columns: slice) -> tuple[int, int]:
    return columns.start, columns.stop


def _motion_bounds(task: Task) -> tuple[Floats, Floats]:
    """A part that goes home by itself has no choice."""
    low = [np.full(6, -FARTHEST_MM) if mover.is_free else mover.home for mover in task.movers]
    high = [np.full(6, FARTHEST_MM) if mover.is_free else mover.home for mover in task.movers]
    return np.concatenate(low), np.concatenate(high)


def _changes(program: LinearProgram, task: Task, aim: Aim) -> tuple[tuple[int, int], Floats]:
    """Unknowns b between their ranges; how many are changed; how much more range they take."""
    knobs = task.knobs
    shim = np.array([knob.is_shim for knob in knobs], dtype=bool)
    unit = np.array([knob.step_mm if knob.is_shim else 1.0 for knob in knobs])
    # A hair of room, so that a range of whole steps holds its last step.
    low = np.array([knob.low_mm for knob in knobs]) / unit - 1e-9 * shim
    high = np.array([knob.high_mm for knob in knobs]) / unit + 1e-9 * shim
    stays = np.array([k in aim.left for k in range(len(knobs))], dtype=bool)
    stuck = np.array([knob.is_stuck for knob in knobs], dtype=bool)
    room = np.where(stuck, 0.0, FARTHEST_MM / unit) * (aim.more > 0.0)
    if aim.unhinged:
        low, high = np.where(stuck, -FARTHEST_MM, low), np.where(stuck, FARTHEST_MM, high)
    b = _span(
        program.add(
            len(knobs),
            np.where(stays, 0.0, low - room),
            np.where(stays, 0.0, high + room),
            whole=shim & (not aim.smooth),
        )
    )
    each = np.eye(len(knobs))
    if aim.more > 0.0:
        x = _span(program.add(len(knobs), cost=aim.more * unit))
        program.hold({b: each, x: -each}, -np.inf, high)
        program.hold({b: -each, x: -each}, -np.inf, -low)
    if aim.changed > 0.0:
        z = _span(program.add(len(knobs), 0.0, 1.0, cost=aim.changed, whole=True))
        program.hold({b: each, z: -np.diag(high)}, -np.inf, 0.0)
        program.hold({b: -each, z: np.diag(low)}, -np.inf, 0.0)
    return b, unit


def _judge(built: Built, linearised: Linearised) -> None:
    """Planes · (now + displacement) ≤ tolerance · r."""
    items = linearised.task.items
    for number, (item, planes) in enumerate(zip(items, linearised.planes, strict=True)):
        rows = list(item.rows)
        r = np.zeros((len(planes), len(items)))
        r[:, number] = -item.tolerance_mm
        now = planes @ (np.array(item.now_mm) + linearised.constant[rows])
        built.program.hold({built.m: planes @ linearised.slopes[rows], built.r: r}, -np.inf, -now)


def _is_held(task: Task, k: int, aim: Aim) -> bool:
    """Whether a knob holds the part where it is."""
    return (task.knobs[k].is_stuck and not aim.unhinged) or k in aim.left


def _follow(built: Built, linearised: Linearised, aim: Aim) -> None:
    """A slot goes where the part goes."""
    task = linearised.task
    slots = [k for k, one in enumerate(task.knobs) if not (one.is_shim or _is_held(task, k, aim))]
    if slots:
        rows = [task.knobs[k].row for k in slots]
        constant = linearised.constant[rows]
        changes = -np.eye(len(task.knobs))[slots]
        built.program.hold(
            {built.m: linearised.slopes[rows], built.b: changes}, -constant, -constant
        )


def _settle(built: Built, linearised: Linearised, aim: Aim) -> None:
    """The part lies on its shims and hangs on its hinges.

    Where these are more than its motions it settles by least squares; then no shim stands off by
    more than half of one, and no hinge by more than its play.
    """
    task = linearised.task
    held = [k for k, one in enumerate(task.knobs) if not one.is_shim and _is_held(task, k, aim)]
    shims = [k for k, one in enumerate(task.knobs) if one.is_shim]
    hinges = [] if aim.unhinged else [bound.row for bound in task.holds]
    rows = [*(task.knobs[k].row for k in (*held, *shims)), *hinges]
    if not rows:
        return
    slopes, constant = linearised.slopes[rows], linearised.constant[rows]
    changes = np.zeros((len(rows), len(task.knobs)))
    changes[len(held) + np.arange(len(shims)), shims] = -built.unit[shims]
    free = np.repeat([mover.is_free for mover in task.movers], 6)
    left, values, _ = np.linalg.svd(slopes[:, free], full_matrices=False)
    span = left[:, values > _RANK * values[0]].T
    built.program.hold(
        {built.m: span @ slopes, built.b: span @ changes}, -(span @ constant), -(span @ constant)
    )
    if len(span) < len(rows):
        give = np.full(len(rows), HINGE_PLAY_MM)
        give[len(held) + np.arange(len(shims))] = 0.5 * built.unit[shims]
        built.program.hold({built.m: slopes, built.b: changes}, -constant - give, give - constant)


def _bound(built: Built, linearised: Linearised) -> None:
    """Flanges and pins."""
    bounds = linearised.task.bounds
    if bounds:
        rows = [bound.row for bound in bounds]
        constant = linearised.constant[rows]
        low = np.array([bound.low_mm for bound in bounds]) - _HAIR_MM
        high = np.array([bound.high_mm for bound in bounds]) + _HAIR_MM
        built.program.hold({built.m: linearised.slopes[rows]}, low - constant, high - constant)


def _small(program: LinearProgram, of: tuple[int, int], weights: Floats) -> None:
    """Weigh the size of unknowns."""
    each = np.eye(of[1] - of[0])
    above = _span(program.add(len(each), cost=weights))
    program.hold({of: each, above: -each})
    program.hold({of: -each, above: -each})
