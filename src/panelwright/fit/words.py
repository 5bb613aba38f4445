"""Places and directions on a vehicle in plain words: x rearward, y to the right, z up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_NEAR = 0.5
"""A place counts as front, top and so on beyond this share of the way from middle to end."""
_THIN = 0.15
"""An axis along which a part is this thin, against its longest, names no place."""
_ALIKE = 0.7
"""A motion counts as one of the whole part where it moves every place nearly alike."""
_WAYS = (("forward", "rearward"), ("to the left", "to the right"), ("down", "up"))
_SITS = ("forward or rearward", "to the left or to the right", "high or low")


def place_words(place: Floats, places: Floats) -> str:
    """Where a place is on a part.

    Parameters
    ----------
    place : array, shape (3,)
        [mm]
    places : array, shape (n, 3)
        All places of the part that are known [mm].

    Returns
    -------
    str
        Such as "rear top corner", "front edge" or "middle".
    """
    low, high = places.min(axis=0), places.max(axis=0)
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    half = np.where(half < _THIN * max(half.max(), 1.0), np.inf, half)
    share = (place - middle) / half
    names = [
        pair[int(share[axis] > 0.0)]
        for axis, pair in ((0, ("front", "rear")), (2, ("bottom", "top")), (1, ("left", "right")))
        if abs(share[axis]) > _NEAR
    ]
    if not names:
        return "middle"
    return f"{' '.join(names)} {'edge' if len(names) == 1 else 'corner'}"


def moved_place(effects: Floats, worst: int, places: Floats) -> str:
    """What a motion moves most: the place in words, or the whole part.

    Parameters
    ----------
    effects : array, shape (n, 3)
        Displacement of every place [mm].
    worst : int
        The place that moves most.
    places : array, shape (n, 3)
        [mm]

    Returns
    -------
    str
        As in `place_words`, or "whole part".
    """
    largest = effects[worst]
    alike = effects @ largest / max(float(largest @ largest), 1e-300)
    if len(places) > 1 and np.all(np.abs(alike - 1.0) < 1.0 - _ALIKE):
        return "whole part"
    return place_words(places[worst], places)


def sits_words(direction: Floats) -> str:
    """Along which axis a place may sit off, both ways.

    Parameters
    ----------
    direction : array, shape (3,)
        Any length.

    Returns
    -------
    str
        Such as "high or low".
    """
    return _SITS[int(np.argmax(np.abs(direction)))]


def displacement_words(vector: Floats, units: Units = Units.MM, least_mm: float = 0.1) -> str:
    """A displacement by its axes, largest first.

    Parameters
    ----------
    vector : array, shape (3,)
        [mm]
    units : Units
        Of the page.
    least_mm : float
        Components below it are not said, except the largest [mm].

    Returns
    -------
    str

    Examples
    --------
    >>> displacement_words(np.array([-3.8, 0.02, -2.0]))
    '3.8 mm forward and 2.0 mm down'
    """
    order = np.argsort(-np.abs(vector))
    said = [
        f"{show_length(abs(float(vector[k])), units)} {_WAYS[k][int(vector[k] > 0.0)]}"
        for k in order
        if abs(float(vector[k])) >= least_mm
    ]
    return joined(said)


def move_words(place: str, vector: Floats, units: Units = Units.MM) -> str:
    """An instruction to push a place of a part.

    Parameters
    ----------
    place : str
        Where on the part.
    vector : array, shape (3,)
        [mm]
    units : Units
        Of the page.

    Returns
    -------
    str

    Examples
    --------
    >>> move_words("rear top corner", np.array([-3.8, 0.0, -2.0]))
    'push the rear top corner 3.8 mm forward and 2.0 mm down'
    """
    return f"push the {place} {displacement_words(vector, units)}"


LINE = "the line through its points"
"""Stands for the place of a turn that moves no place of the part."""


def unseen_words(
    place: str,
    direction: Floats,
    u_mm: float | None,
    units: Units = Units.MM,
    reach_mm: float | None = None,
) -> str:
    """What the readings would not show.

    Parameters
    ----------
    place : str
        What would sit off.
    direction : array, shape (3,)
        Which way, any length.
    u_mm : float or None
        Standard uncertainty there [mm]; None where nothing holds it.
    units : Units
        Of the page.
    reach_mm : float or None
        How far it could sit off at the confidence of the verdicts; None: at 95 % [mm].

    Returns
    -------
    str

    Examples
    --------
    >>> unseen_words("front edge", np.array([0.0, 0.0, 1.0]), 2.04)
    'the front edge could sit up to 4.0 mm high or low and these readings would not show it'
    """
    if place == LINE:
        return (
            "these readings do not show whether the part is turned about the line through its "
            "points: read a point, gap or contact off that line"
        )
    way = sits_words(direction)
    if u_mm is None:
        return f"these readings do not show whether the {place} sits {way}"
    reach = show_length(reach_mm if reach_mm is not None else 1.959964 * u_mm, units)
    return f"the {place} could sit up to {reach} {way} and these readings would not show it"


def joined(words: list[str]) -> str:
    """Words with commas and a last "and".

    Parameters
    ----------
    words : list of str

    Returns
    -------
    str
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
