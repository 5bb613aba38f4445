"""A few points put where all that is said of them fits best, with everything else held."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjust import solve

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.adjust import Solution
    from panelwright.fit.linear import Linear
    from panelwright.fit.sketch import Node, Sketch

    Floats = NDArray[np.float64]
    Place = Callable[[Node], Floats]

_UP = np.array([0.0, 0.0, 1.0])


def values_of(
    sketches: Sequence[Sketch], place: Place, column: Mapping[Node, int]
) -> tuple[Floats, Floats]:
    """What equations come to without their tools, and how they follow some of their nodes.

    Parameters
    ----------
    sketches : sequence of Sketch
    place : callable
        Where a node is, shape (3,) [mm].
    column : mapping
        Number of each node that moves, from 0.

    Returns
    -------
    array, shape (m,)
        [mm]; a height by a level as if its floor were level.
    array, shape (m, 3 k)
        Derivative by the nodes that move [1].
    """
    values = np.array([sketch.constant_mm for sketch in sketches], dtype=float)
    jacobian = np.zeros((len(sketches), len(column), 3))
    for row, sketch in enumerate(sketches):
        terms = [(node, np.array(along)) for node, along in sketch.projections]
        if sketch.levelled is not None:
            terms.append((sketch.levelled, _UP))
        for node, along in terms:
            values[row] += float(along @ place(node))
            if node in column:
                jacobian[row, column[node]] += along
        for sign, a, b in sketch.distances:
            between = place(a) - place(b)
            size = float(np.linalg.norm(between)) or 1.0
            values[row] += sign * size
            for node, way in ((a, sign), (b, -sign)):
                if node in column:
                    jacobian[row, column[node]] += way * between / size
    return values, jacobian.reshape(len(sketches), -1)


def fitted(
    sketches: Sequence[Sketch],
    place: Place,
    start: Mapping[Node, Floats],
    wanted_mm: Floats,
    u_mm: Floats,
) -> Solution[Linear]:
    """Least squares over a few nodes.

    Parameters
    ----------
    sketches : sequence of Sketch
        All that is said of them.
    place : callable
        Where the other nodes are, shape (3,) [mm].
    start : mapping
        Where the nodes that move start, shape (3,) [mm].
    wanted_mm, u_mm : array, shape (m,)
        What the equations should come to, and how surely [mm].

    Returns
    -------
    Solution
        Its `x` has the nodes' coordinates in the order of `start`.
    """
    column = {node: k for k, node in enumerate(start)}

    def evaluate(x: Floats) -> tuple[Floats, Floats]:
        at = x.reshape(-1, 3)

        def where(node: Node) -> Floats:
            number = column.get(node)
            return place(node) if number is None else np.asarray(at[number])

        values, jacobian = values_of(sketches, where, column)
        return (values - wanted_mm) / u_mm, jacobian / u_mm[:, None]

    begin = np.concatenate([np.asarray(xyz) for xyz in start.values()])
    return solve(evaluate, begin, most_iterations=20)
