"""What to read next: what it would settle, what would decide a place, what before cutting.

Lengths are millimetres, turns milliradians, probabilities 0 to 1. Vectors are (x, y, z) with
x rearward, y to the right, z up. None stands for "these readings say nothing about it".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True)
class Foretold:
    """Standard uncertainty of a place once a reading is taken.

    `u_mm` is by axis for a point, by gap and flush as far as judged for a station; None where
    nothing holds it even then.
    """

    id: str
    u_mm: tuple[float | None, ...]


@dataclass(frozen=True)
class NextReading:
    """A reading worth taking next.

    Parameters
    ----------
    gain : float
        Share of the doubt that it takes away, 0 to 1.
    compare : two pairs of points
        Span of the first pair less span of the second.
    minutes : float
    settles : float
        How many verdicts it is expected to settle.
    with_ : str
        Its tool; None for what is seen or felt.
    length_mm : float
        About how long a span will be.
    foretold : tuple of Foretold
        Of every place that is undecided now.
    """

    gain: float
    words: str
    from_: str | None = None
    to: str | None = None
    point: str | None = None
    station: str | None = None
    contact: str | None = None
    locator: str | None = None
    length_mm: float | None = None
    compare: tuple[tuple[str, str], tuple[str, str]] | None = None
    minutes: float = 0.0
    settles: float = 0.0
    with_: str | None = None
    foretold: tuple[Foretold, ...] = ()
    kind: str = ""
    """"span", "compare", "height", "place", "station", "contact" or "locator"."""


@dataclass(frozen=True)
class Together:
    """Readings that settle more together; `settles` is the expected number of verdicts."""

    readings: tuple[NextReading, ...]
    settles: float
    minutes: float
    words: str


class Deciding(StrEnum):
    """What would decide a place that is undecided."""

    READ = "read"
    """A reading or a few are likelier than not to decide it."""
    TOOL = "tool"
    """No reading with the tools at hand can prove it; another tool would."""
    NOTHING = "nothing"
    """No reading known here can prove it."""
    NEAR = "near its limit"
    """It lies so near its limit that it is better moved than read again."""
    RECHECK = "recheck"
    """It looks inside, but the readings disagree among themselves."""


@dataclass(frozen=True)
class Decider:
    """The cheapest way to decide one undecided point or station.

    Parameters
    ----------
    part, place : str
    is_station : bool
    kind : Deciding
    readings : tuple of NextReading
        Of `Deciding.READ`, and the best there are of `NEAR`.
    minutes : float
        Of these readings.
    p_decided : float or None
        Chance that they decide it.
    p_best : float or None
        Chance to be found inside if it were exactly home, once everything here is read.
    tools : tuple of str
        Of `Deciding.TOOL`.
    """

    part: str
    place: str
    is_station: bool
    kind: Deciding
    readings: tuple[NextReading, ...]
    minutes: float
    p_decided: float | None
    p_best: float | None
    tools: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class BeforeReading:
    """A reading to take while the old part is still on.

    Parameters
    ----------
    from_, to, point : str or None
        A span, or a point whose height or coordinates are read.
    loses : str
        What cannot be judged later without it.
    points : tuple of str
        Those points.
    """

    words: str
    with_: str | None
    minutes: float
    loses: str
    points: tuple[str, ...]
    from_: str | None = None
    to: str | None = None
    point: str | None = None
    length_mm: float | None = None


@dataclass(frozen=True)
class CannotBefore:
    """A point that no readings before cutting and at the dry fit can prove."""

    point: str
    p_best: float
    tools: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class BeforeCut:
    """The fewest readings before cutting by which every point can be judged at the dry fit."""

    parts: tuple[str, ...]
    minutes: float
    readings: tuple[BeforeReading, ...]
    cannot: tuple[CannotBefore, ...]
    words: str
