"""What is said of the readings themselves: how they agree, which to take again, what tools do.

Lengths are millimetres, turns milliradians, probabilities 0 to 1. Vectors are (x, y, z) with
x rearward, y to the right, z up. None stands for "these readings say nothing about it".
"""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.sources import Source


@dataclass(frozen=True)
class ReadingRow:
    """One scalar equation of a reading; `index` counts the readings of the file from 0.

    `residual_mm` is adjusted less observed, `w` the residual over u·√redundancy.
    """

    index: int
    component: str
    residual_mm: float
    w: float | None
    redundancy: float
    suspect: bool
    about: str = ""
    """What was read, in words."""
    mdb_mm: float | None = None
    """Smallest error that would be noticed in 80 of 100 cases; None where nothing checks it."""
    checked: bool = True


@dataclass(frozen=True)
class Recheck:
    """A reading to take again.

    Parameters
    ----------
    index : int
        Of the reading in the file, from 0.
    about : str
        What was read, in words.
    read_mm : float
        As the tool showed it.
    others_say_mm, u_mm : float or None
        What it should have shown by all that fits, and the standard uncertainty of that.
    smallest_error_mm : float or None
        Smallest error in it that would be noticed.
    hint : str
        A usual mistake that would explain it, as a question; empty: none does.
    located : bool
        False where it is only one of several among which the wrong one is.
    """

    index: int
    component: str
    about: str
    read_mm: float
    others_say_mm: float | None
    u_mm: float | None
    smallest_error_mm: float | None
    hint: str
    located: bool
    words: str


@dataclass(frozen=True)
class Correction:
    """What was done to a reading before it counted.

    Parameters
    ----------
    index : int
        Of the reading in the file, from 0.
    kind : str
        "edge", "pointers" or "temperature".
    by_mm : float
        What was added to the reading to make it a span between points at 20 °C.
    u_mm : float
        Standard uncertainty that it brings.
    """

    index: int
    kind: str
    by_mm: float
    u_mm: float
    words: str
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True)
class Repeat:
    """The same thing read more than once with one tool.

    Parameters
    ----------
    indices : tuple of int
        Readings of the file, from 0.
    about : str
        What was read, in words.
    mean_mm : float
        Weighted; `u_mm` is its standard uncertainty without what the tool shares.
    scatter_mm : float
        Standard deviation.
    statistic, high : float
        Σ ((x − mean)/u)², and what it may be in 99 of 100 such groups.
    """

    indices: tuple[int, ...]
    component: str
    about: str
    tool: str
    mean_mm: float
    scatter_mm: float
    u_mm: float
    statistic: float
    high: float
    ok: bool
    words: str


@dataclass(frozen=True)
class LearntTool:
    """What repeats say of a tool's seating and reading.

    Parameters
    ----------
    used_u_mm : float
        What the program uses.
    repeats_u_mm : float
        Pooled standard deviation of `readings` repeats.
    u_mm, dof : float
        Both together, and its degrees of freedom.
    proposal : tuple of (key, value)
        Of the `[[tool]]` that takes it over; empty where nothing is to be changed.
    """

    id: str
    used_u_mm: float
    repeats_u_mm: float
    readings: int
    u_mm: float
    dof: float
    words: str
    proposal: tuple[tuple[str, str], ...]
