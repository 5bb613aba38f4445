"""The shop's hours on the clock that never jumps: minutes of UTC from the plan's beginning.

Shifts are local time. Each is turned into UTC on its own day, so that the days on which the
clocks change are as long as they are.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.header import Shop

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_SHIFT = re.compile(r"\s*(\d{1,2}):(\d{2})\s*-\s*(\d{1,2}):(\d{2})\s*")
_DAY_MINUTES = 24 * 60


@dataclass(frozen=True)
class Hours:
    """A shop's working hours.

    Parameters
    ----------
    zone : ZoneInfo
    stretches : tuple of (int, int)
        From and to, minutes after local midnight.
    days : frozenset of int
        Working days, Monday 0.
    """

    zone: ZoneInfo
    stretches: tuple[tuple[int, int], ...]
    days: frozenset[int]

    def windows(self, origin: datetime, minutes: int) -> tuple[tuple[int, int], ...]:
        """Working windows [start, end) in minutes after `origin`, for so many minutes."""
        first = origin.astimezone(self.zone).date() - timedelta(days=1)
        found: list[tuple[int, int]] = []
        for number in range(minutes // _DAY_MINUTES + 4):
            day = first + timedelta(days=number)
            if day.weekday() not in self.days:
                continue
            midnight = datetime.combine(day, time(), self.zone)
            for start, end in self.stretches:
                low = minutes_between(origin, _at(midnight, start))
                high = min(minutes_between(origin, _at(midnight, end)), minutes)
                low = max(low, 0)
                if high <= low:
                    continue
                if found and found[-1][1] >= low:
                    found[-1] = (found[-1][0], max(high, found[-1][1]))
                else:
                    found.append((low, high))
        return tuple(found)


def _at(midnight: datetime, minute: int) -> datetime:
    """Wall-clock time of that day."""
    day = midnight + timedelta(days=minute // _DAY_MINUTES)
    return day.replace(hour=minute % _DAY_MINUTES // 60, minute=minute % 60)


def minutes_between(origin: datetime, moment: datetime) -> int:
    """Whole minutes from one moment to another, rounded down."""
    return int((moment.astimezone(UTC) - origin.astimezone(UTC)).total_seconds() // 60)


def whole_minute(moment: datetime) -> datetime:
    """The moment in UTC, rounded up to the minute."""
    moment = moment.astimezone(UTC)
    rounded = moment.replace(second=0, microsecond=0)
    return rounded if rounded == moment else rounded + timedelta(minutes=1)


def hours_of(shop: Shop) -> tuple[Hours | None, tuple[Problem, ...]]:
    """A shop's working hours, or what is wrong with them."""
    problems = tuple(_problems(shop))
    if problems:
        return None, problems
    stretches = tuple(stretch for text in shop.shift if (stretch := _stretch(text)) is not None)
    days = frozenset(DAYS.index(day) for day in shop.days)
    return Hours(ZoneInfo(shop.zone), stretches, days), ()


def _stretch(text: str) -> tuple[int, int] | None:
    match = _SHIFT.fullmatch(text)
    if match is None:
        return None
    hour, minute, to_hour, to_minute = (int(word) for word in match.groups())
    start, end = 60 * hour + minute, 60 * to_hour + to_minute
    if max(minute, to_minute) > 59 or start >= _DAY_MINUTES or end > _DAY_MINUTES:
        return None
    return start, end


def _problems(shop: Shop) -> Iterator[Problem]:
    try:
        ZoneInfo(shop.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        yield Problem("shop.zone", f"{shop.zone!r} is no time zone; write one like Europe/Berlin")
    if not shop.shift:
        yield Problem("shop.shift", 'there are no working hours; write them like "07:30-12:00"')
    if not shop.days:
        yield Problem("shop.days", 'there are no working days; write them like ["Mon", "Tue"]')
    latest = 0
    for number, text in enumerate(shop.shift):
        where, stretch = f"shop.shift[{number}]", _stretch(text)
        if stretch is None:
            yield Problem(where, f'{text!r} is no stretch of hours; write it like "07:30-12:00"')
        elif stretch[1] <= stretch[0]:
            yield Problem(where, f"{text!r} ends before it starts; a night shift is split at 24:00")
        elif stretch[0] < latest:
            yield Problem(where, f"{text!r} starts before the one above it ends")
        latest = max(latest, stretch[1] if stretch else 0)
