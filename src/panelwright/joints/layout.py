"""Where the rivets go: beside the old holes, within the rules, as near to the old places as can be.

**The problem.** Rivets x_1 < … < x_n on a half-millimetre grid along the joint. Given: an ideal
place for each, in order; stretches that are not free (the ends, `avoid` widened by half a head,
the surroundings of every old hole); a least pitch. Wanted: the least sum of distances from the
ideal places; among equals, the one with fewest rivets before their ideal place.

**The answer** is exact on the grid: the cost is a sum over rivets and the pitch ties neighbours
only, so dynamic programming over (rivet, place) finds the least sum. Matching rivets to ideal
places in order loses nothing, for the cost |x − ideal| is convex in the difference.

Whether any layout exists is settled by setting rivets from the start, each as early as it may:
no layout holds more than that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from panelwright.joints import settings

_MICRO = 1e-6
_PER_MM = 1000
_TIE = 4096
"""More rivets than any joint has, so that the tie-break never outweighs a micrometre."""


class Limit(StrEnum):
    """What takes places away."""

    ENDS = "the distance from the joint's ends"
    AVOID = "the stretches to avoid, widened by half a rivet head"
    OLD_HOLES = "the distance from the old holes"
    PITCH = "the least pitch"


@dataclass(frozen=True)
class Row:
    """A row of rivets to be laid out; all lengths in mm along the joint.

    Parameters
    ----------
    low_mm, high_mm : float
        From where to where the joint is remade.
    ideal_mm : tuple of float
        Ascending, one for each rivet.
    end_mm : float
        Least distance of a rivet's centre from `low_mm` and `high_mm`.
    pitch_mm : float
        Least distance between rivets, > 0.
    avoid_mm : tuple of (float, float)
        Stretches that the heads keep off.
    half_head_mm : float
    old_mm : tuple of float
        Old holes.
    old_clearance_mm : float
        Least distance of a centre from an old hole's.
    """

    low_mm: float
    high_mm: float
    ideal_mm: tuple[float, ...]
    end_mm: float
    pitch_mm: float
    avoid_mm: tuple[tuple[float, float], ...] = ()
    half_head_mm: float = 0.0
    old_mm: tuple[float, ...] = ()
    old_clearance_mm: float = 0.0


@dataclass(frozen=True)
class Layout:
    """Places for a row of rivets.

    Parameters
    ----------
    at_mm : tuple of float
        Ascending; empty where there is no layout.
    cost_mm : float or None
        Sum of distances from the ideal places; None where there is no layout.
    clash : tuple of Limit
        Where there is no layout: limits of which dropping any one would make room; all of them
        where no single one would.
    most : int
        The largest number of rivets that has room.
    """

    at_mm: tuple[float, ...]
    cost_mm: float | None
    clash: tuple[Limit, ...]
    most: int


def free_places(row: Row) -> npt.NDArray[np.float64]:
    """Grid points where a rivet's centre may sit.

    Parameters
    ----------
    row : Row

    Returns
    -------
    ndarray, shape (k,)
        Ascending [mm].
    """
    first = np.ceil((row.low_mm + row.end_mm - _MICRO) / settings.GRID_MM)
    last = np.floor((row.high_mm - row.end_mm + _MICRO) / settings.GRID_MM)
    places = np.arange(first, last + 1.0) * settings.GRID_MM
    free = np.ones(places.shape, dtype=bool)
    for start, stop in row.avoid_mm:
        low, high = min(start, stop) - row.half_head_mm, max(start, stop) + row.half_head_mm
        free &= (places <= low + _MICRO) | (places >= high - _MICRO)
    for old in row.old_mm:
        free &= np.abs(places - old) >= row.old_clearance_mm - _MICRO
    return places[free]


def most_rivets(row: Row) -> int:
    """The largest number of rivets that has room.

    Parameters
    ----------
    row : Row

    Returns
    -------
    int
    """
    count, before = 0, -np.inf
    for place in free_places(row):
        if place - before >= row.pitch_mm - _MICRO:
            count, before = count + 1, place
    return count


def _costs(places: npt.NDArray[np.float64], ideal: float) -> npt.NDArray[np.int64]:
    """Distance from the ideal place in micrometres, with the tie-break; whole numbers."""
    distance = np.rint(np.abs(places - ideal) * _PER_MM).astype(np.int64)
    early = (places < ideal - _MICRO).astype(np.int64)
    cost: npt.NDArray[np.int64] = distance * _TIE + early
    return cost


def _least(row: Row, places: npt.NDArray[np.float64]) -> tuple[float, ...]:
    """Dynamic programming over (rivet, place); shapes (n, k) and (k,)."""
    before = np.searchsorted(places, places - row.pitch_mm + _MICRO, side="right") - 1
    none = np.int64(np.iinfo(np.int64).max // 2)
    total = _costs(places, row.ideal_mm[0])
    came_from = []
    for ideal in row.ideal_mm[1:]:
        best = np.minimum.accumulate(total)
        # index of the first place that reaches the running minimum
        new_best = np.concatenate(([True], total[1:] < best[:-1]))
        index = np.maximum.accumulate(np.where(new_best, np.arange(places.size), 0))
        reachable = before >= 0
        earlier = np.where(reachable, before, 0)
        came_from.append(index[earlier])
        total = np.where(reachable, best[earlier] + _costs(places, ideal), none)
        total = np.minimum(total, none)
    place = int(np.argmin(total))
    chosen = [place]
    for origin in reversed(came_from):
        place = int(origin[place])
        chosen.append(place)
    return tuple(float(places[index]) for index in reversed(chosen))


def _clash(row: Row, needed: int) -> tuple[Limit, ...]:
    """The limits of which dropping any one makes room; heads never lie on each other."""
    head_to_head = min(row.pitch_mm, max(2.0 * row.half_head_mm, settings.GRID_MM))
    without = {
        Limit.ENDS: replace(row, end_mm=0.0),
        Limit.AVOID: replace(row, avoid_mm=()),
        Limit.OLD_HOLES: replace(row, old_mm=()),
        Limit.PITCH: replace(row, pitch_mm=head_to_head),
    }
    alone = tuple(limit for limit, easier in without.items() if most_rivets(easier) >= needed)
    return alone or tuple(Limit)


def no_room_for(row: Row, count: int) -> Layout | None:
    """Whether a number of rivets has no room at all, wherever their ideal places are.

    Parameters
    ----------
    row : Row
        Its ideal places are not looked at.
    count : int

    Returns
    -------
    Layout or None
        Without positions, with the limits that clash; None where there is room.
    """
    most = most_rivets(row)
    return Layout((), None, _clash(row, count), most) if most < count else None


def lay_out(row: Row) -> Layout:
    """Lay out a row of rivets as near to their ideal places as the rules allow.

    Parameters
    ----------
    row : Row
        At least one ideal place.

    Returns
    -------
    Layout
        Without positions, and with the limits that clash, where there is no room.

    Examples
    --------
    >>> row = Row(0.0, 100.0, (30.0, 70.0), end_mm=10.0, pitch_mm=15.0,
    ...           old_mm=(30.0, 70.0), old_clearance_mm=10.5)
    >>> lay_out(row).at_mm
    (40.5, 80.5)
    """
    if failed := no_room_for(row, len(row.ideal_mm)):
        return failed
    at = _least(row, free_places(row))
    cost = float(sum(abs(x - ideal) for x, ideal in zip(at, row.ideal_mm, strict=True)))
    return Layout(at, cost, (), most_rivets(row))
