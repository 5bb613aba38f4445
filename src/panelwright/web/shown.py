"""How values stand on a page: lengths in the person's units, moments on the shop's clock."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from panelwright.quantities import (
    show_area,
    show_force,
    show_length,
    show_length_with_u,
    show_minutes,
    show_stress,
    show_temperature,
    show_volume,
)


class Sign(StrEnum):
    """A state: each has a shape, a word and a colour on the page."""

    GOOD = "good"
    BAD = "bad"
    UNSURE = "unsure"
    ASK = "ask"
    WAIT = "wait"
    DONE = "done"


SHAPES: Mapping[Sign, str] = {
    Sign.GOOD: "✓",
    Sign.BAD: "✗",
    Sign.UNSURE: "◆",
    Sign.ASK: "▲",
    Sign.WAIT: "●",
    Sign.DONE: "✓",
}


@dataclass(frozen=True)
class Clock:
    """A clock that counts in the browser.

    Attributes
    ----------
    id : str
        Stays the same while it runs.
    label : str
        What it counts for, in words.
    until : datetime
        The safe end: what protects somebody.
    likely : datetime or None
        Shown small beside it.
    limit : bool
        True: something must be done before the end. False: it is a wait.
    started : datetime or None
        From which the bar runs.
    since : bool
        True: it counts up from `until`; no end is known.
    soon_min : int
        Minutes before the end at which the page sounds a first alarm; 0: only at the end.
    soon, end : str
        What the alarm says before and at the end; empty: it says nothing.
    """

    id: str
    label: str
    until: datetime
    likely: datetime | None = None
    limit: bool = False
    started: datetime | None = None
    since: bool = False
    soon_min: int = 0
    soon: str = ""
    end: str = ""


def left(until: datetime, now: datetime) -> str:
    """Say how long is left, as the browser counts it: 1:05:09, 42:10, or −3:00 past the end."""
    seconds = math.ceil((until - now).total_seconds())
    sign, seconds = ("−", -seconds) if seconds < 0 else ("", seconds)
    hours, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    if hours >= 48:
        return f"{sign}{hours // 24} d {hours % 24} h"
    return f"{sign}{hours}:{minutes:02}:{seconds:02}" if hours else f"{sign}{minutes}:{seconds:02}"


def percent(value: float) -> str:
    """Say a chance or a share in whole per cent, never as certain."""
    if 0 < value < 0.01:
        return "below 1 %"
    if 0.99 < value < 1:
        return "above 99 %"
    return f"{100 * value:.0f} %"


REGISTERED: Mapping[str, Callable[..., object] | object] = {
    "area": show_area,
    "force": show_force,
    "length": show_length,
    "length_u": show_length_with_u,
    "minutes": show_minutes,
    "stress": show_stress,
    "temperature": show_temperature,
    "volume": show_volume,
    "left": left,
    "percent": percent,
    "shapes": SHAPES,
    "Sign": Sign,
}
"""What templates may call; Units come first from the page: ``length(mm, units)``."""
