"""Everything that could be read next, against every place that is in doubt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.at_hand import at_hand
from panelwright.fit.candidates import Pool, pool_of
from panelwright.fit.expected import chances_of, settled_by_one, settled_by_several
from panelwright.fit.foresight import Outlook, divided
from panelwright.fit.in_doubt import Doubted, in_doubt

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.at_hand import AtHand
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.expected import Chances
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.part_answer import PartFit
    from panelwright.fit.verdicts import Judge, PartState

    Floats = NDArray[np.float64]

UNSEEN_U_MM = 50.0
"""How far a motion that nothing holds is taken to reach, so that readings that open it lead."""
_NOUGHT = 1e-6


@dataclass(frozen=True)
class Group:
    """Places in doubt that have one kind of tolerance.

    Parameters
    ----------
    places : array of int, shape (n,)
    rows : array of int, shape (n, d)
        Their rows among those of all places.
    chances : Chances
    """

    places: NDArray[np.intp]
    rows: NDArray[np.intp]
    chances: Chances

    def only(self, place: int) -> Group:
        """The same with one place."""
        at = np.flatnonzero(self.places == place)
        chances = replace(
            self.chances,
            off=self.chances.off[at],
            covariance=self.chances.covariance[at],
            shift=self.chances.shift[at],
        )
        return Group(self.places[at], self.rows[at], chances)


def _groups(
    doubted: tuple[Doubted, ...], parts: tuple[slice, ...], known: Floats, judge: Judge
) -> Iterator[Group]:
    kinds = [(one.ball, one.size) for one in doubted]
    for kind in dict.fromkeys(kinds):
        places = np.array([k for k, other in enumerate(kinds) if other == kind], dtype=np.intp)
        rows = np.array([np.arange(parts[k].start, parts[k].stop) for k in places], dtype=np.intp)
        covariance = known[rows[:, :, None], rows[:, None, :]]
        chances = chances_of([doubted[k] for k in places], covariance, judge)
        yield Group(places, rows, chances)


@dataclass(frozen=True)
class Survey:
    """Everything that could be read, against every place in doubt.

    Parameters
    ----------
    doubted : tuple of Doubted
    rows : array, shape (k, v)
        Rows of all places in doubt, one under the other.
    parts : tuple of slice
        Each place's rows among them.
    outlook : Outlook
    groups : tuple of Group
        Places alike in tolerance.
    covariance : array, shape (v, v)
        With what nothing holds let loose by 50 mm at most.
    exact : array, shape (v, v)
        Without that.
    free : array, shape (v, j)
        Motions that nothing holds.
    settled : array, shape (c, n)
        Chance that each candidate settles each place.
    """

    network: Network
    hand: AtHand
    doubted: tuple[Doubted, ...]
    rows: Floats
    parts: tuple[slice, ...]
    outlook: Outlook
    groups: tuple[Group, ...]
    covariance: Floats
    exact: Floats
    free: Floats
    settled: Floats

    @property
    def pool(self) -> Pool:
        """The candidates."""
        return self.outlook.pool

    def known(self, place: int) -> Floats:
        """Covariance of a place as the readings stand, in tolerances squared."""
        own = self.parts[place]
        return self.outlook.known[own, own]

    def settled_by(self, sets: list[tuple[int, ...]], place: int | None = None) -> Floats:
        """Chance that each of some sets of readings settles each place, shape (s, n).

        With `place` only that one is looked at, shape (s, 1).
        """
        left = np.array([self._left(chosen) for chosen in sets])
        settled = np.zeros((len(sets), len(self.doubted)))
        groups = self.groups
        if place is not None:
            groups = tuple(group.only(place) for group in groups if place in group.places)
        for group in groups:
            after = left[:, group.rows[:, :, None], group.rows[:, None, :]]
            found = settled_by_several(group.chances, group.chances.covariance - after)
            settled[:, group.places] = found
        if self.free.size:
            settled *= [
                [self._closes(chosen, k) for k in range(len(self.doubted))] for chosen in sets
            ]
        return settled if place is None else settled[:, [place]]

    def _left(self, chosen: tuple[int, ...]) -> Floats:
        """Covariance of all places' rows once a set is read."""
        rows = np.concatenate([np.arange(*self.pool.own(c).indices(1 << 30)) for c in chosen])
        inner = self.outlook.own[rows] @ self.pool.rows[rows].T + np.diag(self.pool.variances[rows])
        across = self.outlook.across[rows]
        after: Floats = self.outlook.known - across.T @ divided(inner, across)
        return after

    def _closes(self, chosen: tuple[int, ...], place: int) -> bool:
        """Whether nothing of a place is left free once a set is read."""
        moved = self.rows[self.parts[place]] @ self.free
        if not moved.size or not np.abs(moved).max() > _NOUGHT:
            return True
        shown = np.concatenate([self.pool.rows[self.pool.own(c)] for c in chosen]) @ self.free
        return bool(_beyond(moved, shown) < _NOUGHT)


def survey_of(
    network: Network,
    adjusted: Adjusted,
    placed: Placed,
    states: tuple[tuple[PartState, PartFit], ...],
    judge: Judge,
    *more_tools: str,
) -> Survey | None:
    """Look at everything that could be read of the parts in doubt; None without doubt.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    states : tuple
        Every fitted part with its verdicts.
    judge : Judge
    more_tools : str
        Built-in tools to count in although they are not at hand.

    Returns
    -------
    Survey or None
    """
    doubted = in_doubt(network, adjusted, placed, states)
    if not doubted:
        return None
    hand = at_hand(network.repair, network.tools, *more_tools)
    pool = pool_of(network, adjusted, placed, {one.part for one in doubted}, hand)
    columns = pool.columns
    ends = np.cumsum([0, *(one.size for one in doubted)]).tolist()
    rows = columns.widened(np.concatenate([one.rows for one in doubted]))
    covariance = columns.covariance(_with_unseen(adjusted, placed))
    outlook = Outlook.of(pool, covariance, rows)
    parts = tuple(slice(a, b) for a, b in pairwise(ends))
    survey = Survey(
        network,
        hand,
        doubted,
        rows,
        parts,
        outlook,
        tuple(_groups(doubted, parts, outlook.known, judge)),
        covariance,
        columns.covariance(adjusted.covariance),
        columns.widened(adjusted.undetermined.T).T,
        np.zeros((len(pool.what), len(doubted))),
    )
    return replace(survey, settled=_settled_each(survey))


def _settled_each(survey: Survey) -> Floats:
    """Chance that each candidate by itself settles each place, shape (c, n)."""
    pool = survey.pool
    settled = np.zeros((len(pool.what), len(survey.doubted)))
    if not len(pool.what):
        return settled
    single = np.flatnonzero(pool.single)
    rows = pool.first[single]
    gains = survey.outlook.gains()[rows]
    shown = pool.rows[rows] @ survey.free
    for group in survey.groups:
        settled[np.ix_(single, group.places)] = settled_by_one(group.chances, gains[:, group.rows])
    for k, own in enumerate(survey.parts if survey.free.size else ()):
        moved = survey.rows[own] @ survey.free
        if np.abs(moved).max() > _NOUGHT:
            settled[single, k] *= _closed_by_one(moved, shown)
    several = np.flatnonzero(~pool.single).tolist()
    if several:
        settled[several] = survey.settled_by([(c,) for c in several])
    return settled


def _closed_by_one(moved: Floats, shown: Floats) -> NDArray[np.bool_]:
    """Whether equations that show `shown`, shape (c, j), each hold all free motion of a place."""
    size = np.linalg.norm(shown, axis=1)
    unit = shown / np.where(size > _NOUGHT, size, 1.0)[:, None]
    rest = np.sum(moved**2) - np.sum((unit @ moved.T) ** 2, axis=1)
    closed: NDArray[np.bool_] = rest < _NOUGHT * np.sum(moved**2)
    return closed


def _beyond(moved: Floats, shown: Floats) -> float:
    """Share of the free motions of a place that some equations do not show."""
    _, values, rows = np.linalg.svd(shown, full_matrices=False)
    basis = rows[values > _NOUGHT * max(float(values.max(initial=0.0)), _NOUGHT)]
    rest = moved - moved @ basis.T @ basis
    return float(np.sum(rest**2) / np.sum(moved**2))


def _with_unseen(adjusted: Adjusted, placed: Placed) -> Floats:
    """Covariance with every motion that nothing holds let loose by 50 mm at most."""
    covariance = adjusted.covariance
    for motion in adjusted.undetermined.T:
        reach = float(np.abs(placed.follow @ motion).max(initial=0.0))
        if reach > 0.0:
            loose = motion * (UNSEEN_U_MM / reach)
            covariance = covariance + np.outer(loose, loose)
    return covariance
