"""Dates and times as the job file says them, in the shop's own time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_of(day: date) -> str:
    """A date with its year: 20 Nov 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


@dataclass(frozen=True)
class When:
    """Says moments in one time zone."""

    zone: tzinfo

    @classmethod
    def of(cls, zone: str) -> When:
        """The zone by its IANA name; UTC where that is not known."""
        try:
            return cls(ZoneInfo(zone))
        except (ZoneInfoNotFoundError, ValueError):
            return cls(UTC)

    def here(self, moment: datetime) -> datetime:
        """A moment on the shop's clock."""
        return moment.astimezone(self.zone)

    def day(self, moment: datetime) -> str:
        """Fri 20 Nov."""
        local = self.here(moment)
        return f"{DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}"

    def clock(self, moment: datetime) -> str:
        """13:05; with the zone's short name in the hour that the clock shows twice in autumn."""
        local = self.here(moment)
        twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
        return f"{local:%H:%M} {local.tzname()}" if twice else f"{local:%H:%M}"

    def stamp(self, moment: datetime) -> str:
        """Fri 20 Nov 13:05."""
        return f"{self.day(moment)} {self.clock(moment)}"

    def full(self, moment: datetime) -> str:
        """Fri 20 Nov 2026, 13:05 with the zone's short name."""
        local = self.here(moment)
        return f"{self.day(moment)} {local.year}, {local:%H:%M} {local.tzname() or ''}".strip()

    def span(self, start: datetime, end: datetime) -> str:
        """From and to, the day said twice only where it changes."""
        if self.here(start).date() == self.here(end).date():
            return f"{self.stamp(start)}–{self.clock(end)}"
        return f"{self.stamp(start)} – {self.stamp(end)}"
