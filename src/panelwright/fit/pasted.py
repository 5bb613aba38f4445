"""Readings that were entered twice in one go: the second copy is kept and counts once.

Somebody who reads the same thing again gets another value now and then. A stretch of readings that
comes again in the same order with every value alike is a copy, and counting it would make the
answer surer than it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.fit.notes import left_out

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from panelwright.facts.models.readings import Reading
    from panelwright.facts.problem import Problem

LEAST_STRETCH = 8
"""Readings that come again in the same order by chance are fewer. Common practice, no source."""


def copies_of(readings: tuple[Reading, ...]) -> Mapping[int, int]:
    """Readings that are copies, and the reading that each is a copy of.

    Parameters
    ----------
    readings : tuple of Reading

    Returns
    -------
    mapping
        From the index of a copy to that of its original, both from 0.
    """
    said = [_said(reading) for reading in readings]
    first: dict[str, list[int]] = {}
    copies: dict[int, int] = {}
    index = 0
    while index < len(said):
        original, length = _longest(said, first.get(said[index], ()), index)
        if length >= LEAST_STRETCH:
            copies.update({index + k: original + k for k in range(length)})
            index += length
            continue
        first.setdefault(said[index], []).append(index)
        index += 1
    return copies


def _longest(said: list[str], candidates: list[int] | tuple[()], index: int) -> tuple[int, int]:
    """Where the longest stretch began that comes again at `index`, and how long it is."""
    best = (0, 0)
    for original in candidates[-4:]:
        length = 0
        while (
            index + length < len(said)
            and original + length < index
            and said[original + length] == said[index + length]
        ):
            length += 1
        if length > best[1]:
            best = (original, length)
    return best


def _said(reading: Reading) -> str:
    """All that a reading says but its id and note."""
    return reading.model_dump_json(exclude={"id", "note"}, exclude_defaults=True)


def pasted_problems(copies: Mapping[int, int]) -> Iterator[Problem]:
    """What there is to say of copies: one line a stretch.

    Parameters
    ----------
    copies : mapping
        As of `copies_of`.

    Yields
    ------
    Problem
    """
    start = None
    for index, original in copies.items():
        if start is None:
            start = index
        if copies.get(index + 1) == original + 1:
            continue
        length = index - start + 1
        yield left_out(
            f"reading[{start}]",
            f"{length} readings from here on are word for word those from reading {copies[start]} "
            "on: it looks as if they were pasted in twice. They are kept and listed, and count "
            "once; if they were truly read again, give each its own time (at)",
        )
        start = None
