"""Which readings, and which pairs of the body, do not fit the others: several errors in turn.

Step by step the hypothesis that explains most is taken out and the network adjusted again: one
reading, or all rows of one pair or point of the body (a racked body must not be put down to the
tape). After every step each of those taken out is tried again, and goes back in where it fits after
all. Where no single one stands out, two readings together may: errors that mask each other. What
cannot be told apart is said so. Nothing is dropped from the answer: this only says what to read
again.

References
----------
W. Baarda, A Testing Procedure for Use in Geodetic Networks, Netherlands Geodetic Commission, 1968
(critical value seen in public code that cites it). Several rows at once: Σ = vᵀ R⁻¹ v, chi-square
with as many degrees of freedom as R has rank (P. J. G. Teunissen, Network Quality Control, from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.answer import Status
from panelwright.fit.chance import is_found, surprise
from panelwright.fit.datum import Adjusted, adjust
from panelwright.fit.masking import APART, MOST_NAMED, as_good, masked_pair
from panelwright.fit.snooping import CRITICAL_W, normalised, redundancy_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.equations import Equations

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]
    Flags = NDArray[np.bool_]

ABSURD = 50.0
"""Standard uncertainties that the readings miss by on average where a search went astray."""
FAR_OFF = 10.0
"""A reading is left out at first where it misses the rough places by more times the median."""
LEAST_SEEN = 1e-4
"""Redundancy below which a direction of several rows is not tested."""
_TIE = 1e-6

NOT_LOCATABLE = "a reading is wrong but it cannot be located: take another reading, or repeat all"
NOT_CONVERGED = (
    "the readings contradict each other so much that no place fits them: look for a misread length "
    "or a wrong point, and check the rough coordinates"
)
MASKED = (
    "two readings are wrong and hide each other, but which two cannot be told: read again those "
    "that could be meant"
)


@dataclass(frozen=True)
class Suspects:
    """What does not fit the rest.

    Parameters
    ----------
    rows : frozenset of int
        Observations of readings.
    note : str
        What to say where it is unclear; else empty.
    body : tuple of int
        Pairs and points of the body, as numbered in what was asked.
    tied : tuple of int
        Observations among which the wrong one is, where it cannot be told which.
    rivals : tuple of int
        Observations that could be wrong in place of those in `rows`: they explain nearly as much.
    kept : array of bool, shape (m + p,)
        Equations that fit each other.
    without : Adjusted or None
        The network of these alone.
    """

    rows: frozenset[int]
    note: str
    body: tuple[int, ...] = ()
    tied: tuple[int, ...] = ()
    rivals: tuple[int, ...] = ()
    kept: Flags = field(default_factory=lambda: np.zeros(0, dtype=bool))
    without: Adjusted | None = None


@dataclass(frozen=True)
class _Stage:
    """The network with some equations left out."""

    equations: Equations
    adjusted: Adjusted
    kept: Flags

    @property
    def numbers(self) -> Indices:
        """Which equations are kept."""
        numbers: Indices = np.flatnonzero(self.kept)
        return numbers

    def w(self) -> Floats:
        """|w| of every equation; 0 where it is left out or not checked, shape (m + p,)."""
        w = np.zeros(len(self.kept))
        w[self.kept] = np.nan_to_num(
            np.abs(normalised(self.adjusted, redundancy_of(self.adjusted)))
        )
        return w

    def together(self, rows: tuple[int, ...]) -> tuple[float, int]:
        """Statistic of rows that are left out together, and its degrees of freedom."""
        among = np.searchsorted(self.numbers, [row for row in rows if self.kept[row]])
        jacobian = self.adjusted.jacobian[among]
        cover = np.eye(len(among)) - jacobian @ self.adjusted.covariance @ jacobian.T
        values, axes = np.linalg.eigh(cover)
        seen = values > LEAST_SEEN
        along = axes[:, seen].T @ self.adjusted.residual[among]
        return float(np.sum(along**2 / values[seen])), int(seen.sum())

    def left_out(self, rows: tuple[int, ...], frame: Indices) -> _Stage:
        """The same network without more rows."""
        kept = self.kept.copy()
        kept[list(rows)] = False
        return self._with(kept, frame)

    def put_back(self, rows: tuple[int, ...], frame: Indices) -> _Stage:
        """The same network with rows back in."""
        kept = self.kept.copy()
        kept[list(rows)] = True
        return self._with(kept, frame)

    def _with(self, kept: Flags, frame: Indices) -> _Stage:
        equations = replace(self.equations, kept=kept)
        return _Stage(equations, adjust(equations, self.adjusted.x, frame), kept)

    def misfit(self, rows: tuple[int, ...]) -> tuple[float, int]:
        """Statistic of rows that are left out against what the network forecasts for them."""
        residual, jacobian = replace(self.equations, kept=None).weighted(self.adjusted.x)
        here = jacobian[list(rows)]
        spread = np.eye(len(rows)) + here @ self.adjusted.covariance @ here.T
        off = residual[list(rows)]
        return float(off @ np.linalg.solve(spread, off)), len(rows)


def suspects_of(
    equations: Equations,
    start: Adjusted,
    frame: Indices,
    is_reading: Flags,
    body: tuple[tuple[int, ...], ...] = (),
    rough: Floats | None = None,
) -> Suspects:
    """Find what does not fit, one after the other, and try again what was taken out before.

    Parameters
    ----------
    equations : Equations
    start : Adjusted
        With all readings.
    frame : array of int
        Nodes that inner constraints are taken over.
    is_reading : array of bool, shape (m,)
        Which observations may be suspected each by itself.
    body : tuple of tuple of int
        Observations that are suspected together: those of one pair, or of one point.
    rough : array, shape (u,), or None
        Where the unknowns are taken to be before anything is read: where a length is so far off
        that the adjustment went astray with it, what is absurd there is left out first.

    Returns
    -------
    Suspects
        `rows` count the observations.
    """
    readings = np.zeros(equations.count, dtype=bool)
    readings[: len(is_reading)] = is_reading
    stage = _Stage(equations, start, np.ones(equations.count, dtype=bool))
    if rough is not None and _went_astray(start):
        stage = _tried_again(_screened(stage, readings, rough, frame), readings, body, frame)
    seen: set[bytes] = set()
    while stage.adjusted.status is Status.CONVERGED:
        seen.add(stage.kept.tobytes())
        found = _worst(stage, readings, body)
        if not found.rows:
            told = _told(stage, readings, body, found)
            return replace(told, rivals=_rivals(stage, readings, sorted(told.rows), frame))
        # What fits after all is put back before the next is looked for; a set of equations that
        # was there before would only lead round in a circle.
        stage = _tried_again(stage.left_out(found.rows, frame), readings, body, frame)
        if stage.kept.tobytes() in seen:
            return _told(stage, readings, body, found)
    return replace(_told(stage, readings, body, _Found()), note=NOT_CONVERGED, without=None)


@dataclass(frozen=True)
class _Found:
    """Rows to leave out next; none, and why not."""

    rows: tuple[int, ...] = ()
    note: str = ""
    tied: tuple[int, ...] = ()


def _told(
    stage: _Stage, readings: Flags, body: tuple[tuple[int, ...], ...], found: _Found
) -> Suspects:
    out = ~stage.kept
    return Suspects(
        frozenset(np.flatnonzero(out & readings).tolist()),
        found.note,
        tuple(k for k, rows in enumerate(body) if out[list(rows)].all()),
        found.tied,
        kept=stage.kept,
        without=stage.adjusted,
    )


def _rivals(stage: _Stage, readings: Flags, rows: list[int], frame: Indices) -> tuple[int, ...]:
    """Readings that would explain nearly as much in place of one, or of both, that were found."""
    named: dict[int, None] = {}
    for row in rows:
        back = stage.put_back((row,), frame)
        w = np.where(readings, back.w(), 0.0)
        alike = np.flatnonzero(w**2 > max(w[row] ** 2 - APART, CRITICAL_W**2))
        named.update(dict.fromkeys(alike[np.argsort(-w[alike])].tolist()))
    if len(rows) == 2:
        back = stage.put_back((rows[0], rows[1]), frame)
        one, other = np.searchsorted(back.numbers, rows).tolist()
        found = as_good(back.adjusted, readings[back.kept], (one, other))
        named.update(dict.fromkeys(int(back.numbers[k]) for k in found))
    return tuple(row for row in named if row not in rows)[:MOST_NAMED]


def _went_astray(adjusted: Adjusted) -> bool:
    """Whether the readings contradict each other beyond anything that a linear test can sort."""
    return adjusted.status is not Status.CONVERGED or (
        adjusted.sum_of_squares > ABSURD**2 * max(adjusted.dof, 1)
    )


def _screened(stage: _Stage, readings: Flags, rough: Floats, frame: Indices) -> _Stage:
    """Without the readings that lie far outside what the rough places give for the most."""
    residual = np.abs(stage.equations.weighted(rough)[0])
    usual = float(np.median(residual[readings])) if readings.any() else 0.0
    out = readings & (residual > max(FAR_OFF * usual, ABSURD))
    if not out.any():
        return stage
    kept = ~out
    equations = replace(stage.equations, kept=kept)
    adjusted = adjust(equations, rough, frame)
    return _Stage(equations, adjusted, kept) if adjusted.status is Status.CONVERGED else stage


def _tried_again(
    stage: _Stage, readings: Flags, body: tuple[tuple[int, ...], ...], frame: Indices
) -> _Stage:
    """Put back, best first, what fits the network that is left."""
    while stage.adjusted.status is Status.CONVERGED:
        out = ~stage.kept
        groups: list[tuple[int, ...]] = [(row,) for row in np.flatnonzero(out & readings).tolist()]
        groups += [rows for rows in body if out[list(rows)].all()]
        if len(groups) < 2:
            return stage
        misfits = [stage.misfit(rows) for rows in groups]
        best = min(range(len(groups)), key=lambda k: surprise(*misfits[k]))
        if is_found(*misfits[best]):
            return stage
        stage = stage.put_back(groups[best], frame)
    return stage


def _worst(stage: _Stage, readings: Flags, body: tuple[tuple[int, ...], ...]) -> _Found:
    """What fits worst, if it is beyond doubt; else nothing and why."""
    w = stage.w()
    of_readings = np.where(readings, w, 0.0)
    row = int(np.argmax(of_readings)) if len(w) else 0
    reading = surprise(float(of_readings[row]) ** 2, 1) if len(w) else 0.0
    tests = [stage.together(rows) for rows in body]
    group = max(range(len(body)), key=lambda k: surprise(*tests[k]), default=0)
    in_body = surprise(*tests[group]) if tests else 0.0
    if in_body > reading and is_found(*tests[group]):
        return _Found(body[group])
    if not len(w) or of_readings[row] <= CRITICAL_W:
        return _hidden(stage, readings)
    tied = np.flatnonzero(np.abs(w - w[row]) <= _TIE * w[row])
    if stage.adjusted.dof <= 1 or len(tied) > 1:
        return _Found(note=NOT_LOCATABLE, tied=tuple(k for k in tied.tolist() if readings[k]))
    return _Found((row,))


def _hidden(stage: _Stage, readings: Flags) -> _Found:
    """Two readings that hide each other."""
    among = readings[stage.kept]
    pair = masked_pair(stage.adjusted, among)
    if pair is None:
        return _Found()
    rows = tuple(int(stage.numbers[k]) for k in pair.rows)
    return _Found(rows) if pair.is_sure else _Found(note=MASKED, tied=rows)
