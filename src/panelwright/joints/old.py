"""What the factory set: how many rivets, and where they sat."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from panelwright.facts.problem import Problem

_SAME_MM = 0.05
_MOST = 2000
"""More rivets than any joint has; places are not filled in beyond it, nor closer than 1 mm."""


@dataclass(frozen=True)
class OldRow:
    """The old rivets of a joint.

    Parameters
    ----------
    count : int or None
        None where nobody counted them.
    at_mm : tuple of float
        Ascending; as many as `count` where places are known or can be assumed.
    assumed : bool
        True where some or all places were not measured.
    note : str
        How missing places were filled in.
    problems : tuple of Problem
    """

    count: int | None
    at_mm: tuple[float, ...]
    assumed: bool = False
    note: str = ""
    problems: tuple[Problem, ...] = ()


def _evenly(count: int, length_mm: float) -> tuple[float, ...]:
    return tuple(length_mm * (2 * number + 1) / (2 * count) for number in range(count))


def _same_pitch(at_mm: tuple[float, ...], count: int, length_mm: float) -> tuple[float, ...]:
    """The row carried on at its pitch, where it has one and the joint is long enough."""
    pitches = [later - earlier for earlier, later in pairwise(at_mm)]
    if not pitches or max(pitches) - min(pitches) > _SAME_MM:
        return ()
    row = tuple(at_mm[0] + number * pitches[0] for number in range(count))
    return (*at_mm, *row[len(at_mm) :]) if row[-1] <= length_mm + _SAME_MM else ()


def _in_largest_gaps(at_mm: tuple[float, ...], count: int, length_mm: float) -> tuple[float, ...]:
    """The missing ones in the middle of the largest gaps, one after the other."""
    places = sorted(at_mm)
    while len(places) < count:
        ends = [0.0, *places, length_mm]
        low, high = max(pairwise(ends), key=lambda gap: gap[1] - gap[0])
        places = sorted([*places, (low + high) / 2.0])
    return tuple(places)


def _on_the_joint(
    at_mm: tuple[float, ...], length_mm: float, where: str
) -> tuple[tuple[float, ...], tuple[Problem, ...]]:
    """Places on the joint, ascending, each once; a problem for each that is not."""
    problems = []
    kept: list[float] = []
    for number, place in enumerate(at_mm):
        if place > length_mm + _SAME_MM:
            problems.append(
                Problem(
                    f"{where}.at[{number}]",
                    f"{place:g} mm lies beyond the joint's length of {length_mm:g} mm; this place "
                    "is left out: measure it again from the joint's start",
                    hard=False,
                )
            )
        elif any(abs(place - other) <= _SAME_MM for other in kept):
            problems.append(
                Problem(
                    f"{where}.at[{number}]",
                    f"{place:g} mm is given twice; the second is left out",
                    hard=False,
                )
            )
        else:
            kept.append(place)
    return tuple(sorted(kept)), tuple(problems)


def _fill(at_mm: tuple[float, ...], count: int, length_mm: float) -> tuple[tuple[float, ...], str]:
    if not at_mm:
        return _evenly(count, length_mm), (
            "the old places are not given: assumed evenly spread, half a pitch from the ends; "
            "measure them before marking out"
        )
    row = _same_pitch(at_mm, count, length_mm)
    if row:
        return row, (
            f"{len(at_mm)} of {count} old places are given: the others are assumed at the same "
            "pitch; measure them before marking out"
        )
    return _in_largest_gaps(at_mm, count, length_mm), (
        f"{len(at_mm)} of {count} old places are given: the others are assumed in the middle of "
        "the largest gaps; measure them before marking out"
    )


def old_row(
    count: int | None, at_mm: tuple[float, ...], length_mm: float | None, where: str
) -> OldRow:
    """Old rivets from their number and the places that were measured.

    Parameters
    ----------
    count : int or None
        As counted.
    at_mm : tuple of float
        As measured from the joint's start, in any order, perhaps not all [mm].
    length_mm : float or None
        Of the joint, > 0 [mm].
    where : str
        Table path of the joint's `old`.

    Returns
    -------
    OldRow
        Never fewer than counted nor than measured.

    Examples
    --------
    >>> old_row(4, (30.0, 80.0), 250.0, "joint[0].old").at_mm
    (30.0, 80.0, 130.0, 180.0)
    """
    if length_mm is None:
        known = tuple(sorted(set(at_mm)))
        return OldRow(count if count is not None else len(known) or None, known)
    kept, problems = _on_the_joint(at_mm, length_mm, where)
    counted = count
    if count is None:
        # a place beyond the joint's end was measured wrong, but a rivet was there
        beyond = sum(place > length_mm + _SAME_MM for place in at_mm)
        count = len(kept) + beyond
    if count == 0 and not kept:
        return OldRow(counted, (), problems=problems)
    if len(kept) > count:
        more = Problem(
            f"{where}.count",
            f"{count} old rivets, but {len(kept)} places are given; {len(kept)} are taken, "
            "never fewer: count again",
            hard=False,
        )
        return OldRow(len(kept), kept, problems=(*problems, more))
    if len(kept) == count:
        return OldRow(count, kept, problems=problems)
    if count > min(length_mm, _MOST):
        many = Problem(
            f"{where}.count",
            f"{count} old rivets on {length_mm:g} mm; no row is set as close as that: count again",
            hard=False,
        )
        return OldRow(count, kept, problems=(*problems, many))
    places, note = _fill(kept, count, length_mm)
    return OldRow(count, places, assumed=True, note=note, problems=problems)
