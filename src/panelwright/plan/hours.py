"""Where a task may start within a calendar, and how long it then takes on the clock."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plan.tasks import Calendar, Pause, Task

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True)
class Piece:
    """Starts from `low` to `high`, both possible, that all take `elapsed` on the clock."""

    low: int
    high: int
    elapsed: int


def pieces(task: Task, calendar: Calendar | None, horizon: int) -> tuple[Piece, ...]:
    """Every possible start of a task, earliest first, ends within the horizon."""
    last = horizon if task.latest is None else min(horizon, task.latest)
    return clip(free_pieces(task.duration, task.pause, calendar, horizon), task.earliest, last)


def free_pieces(
    duration: int, pause: Pause, calendar: Calendar | None, horizon: int
) -> tuple[Piece, ...]:
    """Every possible start of a task of that length that starts at 0 or later."""
    if calendar is None or pause is Pause.ANYTIME:
        return (Piece(0, horizon - duration, duration),)
    if pause is Pause.UNBROKEN or duration == 0:
        return tuple(
            Piece(start, end - duration, duration)
            for start, end in calendar.windows
            if end - start >= duration
        )
    return _paused(duration, calendar.windows)


def clip(found: Sequence[Piece], earliest: int, last_end: int) -> tuple[Piece, ...]:
    """Keep the starts from `earliest` on whose ends come no later than `last_end`."""
    kept = (
        Piece(max(p.low, earliest), min(p.high, last_end - p.elapsed), p.elapsed) for p in found
    )
    return tuple(piece for piece in kept if piece.low <= piece.high)


def _paused(duration: int, windows: Sequence[tuple[int, int]]) -> tuple[Piece, ...]:
    """Starts of a task that rests in breaks, split by the window in which it ends.

    With `worked[i]` the working time before window i, a start x into window i ends in window j
    where worked[j] < worked[i] + x + duration <= worked[j + 1]; its time on the clock is then the
    same for every such x.
    """
    worked = [0]
    for start, end in windows:
        worked.append(worked[-1] + end - start)
    found = []
    for i, (start, end) in enumerate(windows):
        for j in range(i, len(windows)):
            low = max(0, worked[j] + 1 - duration - worked[i])
            high = min(end - start - 1, worked[j + 1] - duration - worked[i])
            if low <= high:
                elapsed = windows[j][0] - worked[j] + duration + worked[i] - start
                found.append(Piece(start + low, start + high, elapsed))
            if worked[j + 1] >= worked[i + 1] + duration:
                break
    return tuple(found)


class Starts:
    """The possible starts of one task, for looking up the next one quickly."""

    def __init__(self, found: Sequence[Piece]) -> None:
        self.found = tuple(found)
        self._lows = [piece.low for piece in self.found]

    def next(self, time: int) -> tuple[int, int] | None:
        """Earliest possible start at or after `time`, and its time on the clock."""
        place = bisect_right(self._lows, time) - 1
        if place >= 0 and time <= self.found[place].high:
            return time, self.found[place].elapsed
        if place + 1 < len(self.found):
            piece = self.found[place + 1]
            return piece.low, piece.elapsed
        return None
