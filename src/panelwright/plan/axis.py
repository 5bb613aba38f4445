"""The clock without its breaks: minutes of working time.

On this axis a task that rests in breaks has a fixed length, one that may not cross a break keeps
off the seams, and two people cannot do the same hour twice. Only waits need the real clock, and
the way back to it is a step function.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from panelwright.plan.tasks import Calendar


@dataclass(frozen=True)
class Axis:
    """Working time of one calendar.

    Parameters
    ----------
    windows : tuple of (int, int)
        Working windows on the clock.
    seams : tuple of int
        Working time before each window, and after the last.
    """

    windows: tuple[tuple[int, int], ...]
    seams: tuple[int, ...]

    @classmethod
    def of(cls, calendar: Calendar, horizon: int) -> Axis:
        """The axis of a calendar up to the horizon."""
        windows = tuple((a, min(b, horizon)) for a, b in calendar.windows if a < horizon)
        seams = [0]
        for start, end in windows:
            seams.append(seams[-1] + end - start)
        return cls(windows, tuple(seams))

    def worked(self, time: int) -> int:
        """Working time before a moment of the clock."""
        place = bisect_right([start for start, _ in self.windows], time) - 1
        if place < 0:
            return 0
        start, end = self.windows[place]
        return self.seams[place] + min(time, end) - start

    def unbroken(self, duration: int, earliest: int) -> list[list[int]]:
        """Starts, in working time, of a task that stays within one window."""
        pairs = zip(self.seams[:-1], self.seams[1:], strict=True)
        stretches = ([max(low, earliest), high - duration] for low, high in pairs)
        return [[low, high] for low, high in stretches if low <= high]

    def steps(self, *, ends: bool) -> list[tuple[int, int, int]]:
        """Way back to the clock: from, to in working time, and what to add.

        At a seam a start lies after the break (the last of a window's minutes is one before the
        seam), an end before it.
        """
        late = 1 if ends else 0
        return [
            (self.seams[k] + late, self.seams[k + 1] - 1 + late, start - self.seams[k])
            for k, (start, _) in enumerate(self.windows)
        ]
