"""Which way to move a part: what undoes its shift and turn, at places where it can be pushed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.part_answer import HomedPoint, Move, StationFit, Verdict
from panelwright.fit.spread import vector
from panelwright.fit.words import move_words, place_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.verdicts import PartState

    Floats = NDArray[np.float64]

LEAST_MOVE_MM = 0.1
"""Nobody pushes a panel by less."""


def moves_home(state: PartState, verdicts: tuple[HomedPoint | StationFit, ...]) -> tuple[Move, ...]:
    """At most three pushes at well-spread places that together bring a part home.

    Parameters
    ----------
    state : PartState
    verdicts : tuple
        On the part's points and stations; where all are "inside" nothing is to be moved.

    Returns
    -------
    tuple of Move
        Largest first. A push that is smaller than its own standard uncertainty, or that the
        readings do not show, is left out.
    """
    if all(judged.verdict is Verdict.INSIDE for judged in verdicts):
        return ()
    return pushes(state, np.where(state.open, 0.0, -state.off))


def pushes(state: PartState, displaced: Floats) -> tuple[Move, ...]:
    """At most three pushes at well-spread places that together displace a part.

    Parameters
    ----------
    state : PartState
    displaced : array, shape (m, 3)
        What its nodes are to be moved by [mm].

    Returns
    -------
    tuple of Move
        Largest first, without those that the readings do not show.
    """
    count = len(state.pose.points) or len(state.home)
    places = (state.home + state.off)[:count]
    found = (_push(state, k, displaced[k], places) for k in _well_spread(places))
    return tuple(sorted((move for move in found if move), key=lambda move: -move.by_mm))


def _push(state: PartState, k: int, displaced: Floats, places: Floats) -> Move | None:
    by_mm = float(np.linalg.norm(displaced))
    if by_mm < LEAST_MOVE_MM:
        return None
    along = displaced / by_mm
    covariance = state.follow[k] @ state.covariance @ state.follow[k].T
    if by_mm < np.sqrt(max(float(along @ covariance @ along), 0.0)):
        return None
    place = place_words(places[k], places)
    return Move(vector(places[k]), vector(along), by_mm, place, move_words(place, displaced))


def _well_spread(places: Floats) -> tuple[int, ...]:
    """The two places furthest apart, and the one furthest from the line through them."""
    between = places[:, None] - places
    distance = np.linalg.norm(between, axis=2)
    first, second = divmod(int(np.argmax(distance)), len(places))
    if distance[first, second] == 0.0:
        return (first,)
    line = between[second, first] / distance[first, second]
    arms = places - places[first]
    beside = np.linalg.norm(arms - np.outer(arms @ line, line), axis=1)
    third = int(np.argmax(beside))
    if beside[third] < 0.05 * distance[first, second]:
        return (first, second)
    return (first, second, third)
