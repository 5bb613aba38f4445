"""What holds a network: which motions the readings leave free, and what is put in their place.

A network of distances can float as a whole. Motions that carry the body points along rigidly are
the datum's: they are held by inner constraints about the starting coordinates (the body points as
a whole do not shift or turn against them). Free motions that leave those points alone are
undetermined: the unknowns stay at their start, and what depends on them is reported as not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjust import Solution, solve
from panelwright.fit.geometry import KNOWN
from panelwright.fit.large import adjust_large, is_large
from panelwright.fit.rotation import cross_matrix

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.answer import Status
    from panelwright.fit.equations import Equations
    from panelwright.fit.large import Large
    from panelwright.fit.linear import Linear

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

MOTIONS = ("x", "y", "z", "roll", "pitch", "yaw")
"""Shift along and turn about the three axes."""
MOST_ITERATIONS = 100
"""Networks that fit end after 5 to 20."""
_NOUGHT = 1e-6
"""Share below which a component of a free motion counts as nought."""


@dataclass(frozen=True)
class Adjusted:
    """A network's unknowns with covariance, whatever holds it.

    Parameters
    ----------
    x : array, shape (u,)
        The unknowns [mm, rad, 1].
    covariance : array, shape (u, u)
        A priori.
    residual : array, shape (m,)
        Weighted residuals of all equations [1].
    jacobian : array, shape (m, u)
        Weighted.
    rank : int
    undetermined : array, shape (u, k)
        Motions of the unknowns that nothing holds, the largest entry of each 1.
    datum : tuple of str
        Names of the motions that inner constraints hold.
    redundancy : array, shape (m,), or None
        Of every equation, where it came with the estimate.
    """

    x: Floats
    covariance: Floats
    residual: Floats
    jacobian: Floats
    rank: int
    undetermined: Floats
    datum: tuple[str, ...]
    status: Status
    iterations: int
    redundancy: Floats | None = None

    @property
    def dof(self) -> int:
        """Degrees of freedom: equations less what they determine."""
        return len(self.residual) - self.rank

    @property
    def sum_of_squares(self) -> float:
        """Sum of the squared weighted residuals."""
        return float(self.residual @ self.residual)

    def leaves_open(self, follow: Floats) -> NDArray[np.bool_]:
        """Whether quantities with derivatives `follow`, shape (..., u), are undetermined."""
        if not self.undetermined.shape[1]:
            return np.zeros(follow.shape[:-1], dtype=bool)
        reach = np.abs(follow @ self.undetermined).max(axis=-1)
        open_: NDArray[np.bool_] = reach > _NOUGHT * np.abs(follow).sum(axis=-1)
        return open_


def adjust(equations: Equations, start: Floats, frame: Indices) -> Adjusted:
    """Adjust a network, held by its readings or by inner constraints.

    Parameters
    ----------
    equations : Equations
    start : array, shape (u,)
        Where to start, and what inner constraints hold the network to [mm, rad, 1].
    frame : array of int
        Root nodes over which the inner constraints are taken.

    Returns
    -------
    Adjusted
    """
    large = adjust_large(equations, start) if is_large(equations) else None
    if large is not None:
        return _of_large(large)
    found = solve(equations.weighted, start, most_iterations=MOST_ITERATIONS)
    if found.linear.free.shape[1]:
        return _constrained(equations, start, frame, found)
    return Adjusted(
        x=found.x,
        covariance=found.linear.covariance,
        residual=found.residual,
        jacobian=found.linear.jacobian,
        rank=found.rank,
        undetermined=np.zeros((len(start), 0)),
        datum=(),
        status=found.status,
        iterations=found.iterations,
    )


def _of_large(large: Large) -> Adjusted:
    """The estimate of a large network that its readings hold."""
    return Adjusted(
        x=large.x,
        covariance=large.covariance(),
        residual=large.residual,
        jacobian=large.linear.jacobian.toarray(),
        rank=len(large.x),
        undetermined=np.zeros((len(large.x), 0)),
        datum=(),
        status=large.status,
        iterations=large.iterations,
        redundancy=large.redundancy,
    )


def _constrained(
    equations: Equations, start: Floats, frame: Indices, found: Solution[Linear]
) -> Adjusted:
    """Solve again with constraints in place of the motions that are free."""
    split = _split(equations, start, frame, found)
    constraints = np.concatenate([split.datum_rows, split.other_rows])
    constraints /= np.linalg.norm(constraints / found.linear.scale, axis=1)[:, None]
    # The datum keeps to where the points started, what is undetermined to where the search left it.
    count = len(split.datum_rows)
    held_at = np.concatenate([constraints[:count] @ start, constraints[count:] @ found.x])

    def evaluate(x: Floats) -> tuple[Floats, Floats]:
        residual, jacobian = equations.weighted(x)
        return (
            np.concatenate([residual, constraints @ x - held_at]),
            np.concatenate([jacobian, constraints]),
        )

    held = solve(evaluate, found.x, most_iterations=MOST_ITERATIONS)
    count = equations.kept_count
    jacobian = held.linear.jacobian[:count]
    # Covariance under minimal constraints C: K N K with K = (N + CᵀC)⁻¹.
    across = held.linear.covariance @ jacobian.T
    return Adjusted(
        x=held.x,
        covariance=across @ across.T,
        residual=held.residual[:count],
        jacobian=jacobian,
        rank=found.rank,
        undetermined=split.undetermined,
        datum=split.names,
        status=held.status,
        iterations=found.iterations + held.iterations,
    )


@dataclass(frozen=True)
class _Split:
    """Free motions told apart; rows have shape (…, u)."""

    datum_rows: Floats
    other_rows: Floats
    undetermined: Floats
    names: tuple[str, ...]


def _split(equations: Equations, start: Floats, frame: Indices, found: Solution[Linear]) -> _Split:
    """Tell the motions that carry the frame along as one rigid body from all other free motions."""
    scale = found.linear.scale[:, None]
    motions = found.linear.free / scale
    frame = _rigid_part(equations, found.x, frame, motions)
    allowed = _allowed_motions(equations, start, frame)
    of_frame = _frame_unknowns(equations, frame)
    moved = motions[of_frame]
    # Measured by the whole motion: rounding in points that do not move is no motion of theirs.
    others = _null_space(moved / (np.linalg.norm(motions) or 1.0))
    moving = _null_space(others.T)
    rigid = (_rigid_motions(equations, found.x, frame) @ allowed)[of_frame]
    combined, *_ = np.linalg.lstsq(rigid, moved @ moving, rcond=None)
    undetermined = motions @ others
    largest = np.abs(undetermined).max(axis=0, initial=0.0)
    return _Split(
        (_rigid_motions(equations, start, frame) @ allowed @ combined).T,
        (undetermined * scale**2).T,
        undetermined / np.where(largest > 0.0, largest, 1.0),
        _names(allowed @ combined),
    )


def _rigid_part(equations: Equations, x: Floats, frame: Indices, motions: Floats) -> Indices:
    """The frame without the points that free motions move against the others.

    The point that is moved most is left out first; what remains moves as one.
    """
    while len(frame):
        of_frame = _frame_unknowns(equations, frame)
        moved = motions[of_frame]
        rigid = _rigid_motions(equations, x, frame) @ _allowed_motions(equations, x, frame)
        fitted, *_ = np.linalg.lstsq(rigid[of_frame], moved, rcond=None)
        apart = np.zeros(equations.geometry.size)
        apart[of_frame] = np.linalg.norm(moved - rigid[of_frame] @ fitted, axis=1)
        if np.linalg.norm(apart) <= _NOUGHT * np.linalg.norm(motions):
            break
        unknown = equations.geometry.unknown[frame]
        of_point = np.where(unknown != KNOWN, apart[unknown], 0.0).max(axis=1)
        frame = np.delete(frame, int(np.argmax(of_point)))
    return frame


def _frame_unknowns(equations: Equations, frame: Indices) -> Indices:
    unknown = equations.geometry.unknown[frame].ravel()
    found: Indices = np.unique(unknown[unknown != KNOWN])
    return found


def _motions_of_points(xyz: Floats) -> Floats:
    """Six rigid motions of points, shape (3 k, 6): shifts by 1, turns that reach about 1."""
    arms = xyz - xyz.mean(axis=0) if len(xyz) else xyz
    reach = float(np.sqrt(np.mean(arms**2))) if len(xyz) else 1.0
    reach = reach or 1.0
    motions = np.zeros((len(xyz), 3, 6))
    motions[:, :, :3] = np.eye(3)
    motions[:, :, 3:] = -cross_matrix(arms) / reach
    return motions.reshape(-1, 6)


def _rigid_motions(equations: Equations, x: Floats, frame: Indices) -> Floats:
    """Rigid motions of the frame in the unknowns, shape (u, 6)."""
    motions = np.zeros((equations.geometry.size, 6))
    unknown = equations.geometry.unknown[frame].ravel()
    moving = unknown != KNOWN
    motions[unknown[moving]] = _motions_of_points(equations.geometry.place(x).xyz[frame])[moving]
    return motions


def frame_motions(equations: Equations, x: Floats, frame: Indices) -> Floats:
    """Six rigid motions of the frame in the unknowns, as constraints on a body that floats.

    Parameters
    ----------
    equations : Equations
    x : array, shape (u,)
        [mm, rad, 1]
    frame : array of int
        Root nodes.

    Returns
    -------
    array, shape (u, 6)
        Shifts by 1 along the axes, turns that reach about 1 [mm]; zero where an axis is known.
    """
    return _rigid_motions(equations, x, frame)


def _allowed_motions(equations: Equations, start: Floats, frame: Indices) -> Floats:
    """Combinations of the six motions that leave known coordinates alone, shape (6, a)."""
    known = equations.geometry.unknown[frame].ravel() == KNOWN
    motions = _motions_of_points(equations.geometry.place(start).xyz[frame])
    return _null_space(motions[known]) if known.any() else np.eye(6)


def _null_space(matrix: Floats) -> Floats:
    """Orthonormal basis of what a matrix maps to nought, shape (columns, d)."""
    _, values, rows = np.linalg.svd(matrix, full_matrices=True)
    basis: Floats = rows[int(np.sum(values > _NOUGHT)) :].T
    return basis


def _names(combinations: Floats) -> tuple[str, ...]:
    """Names of the motions that combinations of the six, shape (6, d), are made of."""
    if not combinations.shape[1]:
        return ()
    basis, _ = np.linalg.qr(combinations)
    named = tuple(
        name for name, row in zip(MOTIONS, basis, strict=True) if float(row @ row) > 1.0 - _NOUGHT
    )
    mixed = combinations.shape[1] - len(named)
    return named if not mixed else (*named, f"{mixed} mixed")
