"""The shop's hours on the day the clocks change, and shifts that cannot be."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from panelwright.facts.models.header import Shop
from panelwright.plan.axis import Axis
from panelwright.plan.forward import Clock
from panelwright.plan.hours import Starts, free_pieces
from panelwright.plan.tasks import Calendar, Pause
from panelwright.plan.windows import hours_of, whole_minute

DAY = 24 * 60


def windows(shop: Shop, origin: datetime, days: int) -> tuple[tuple[int, int], ...]:
    hours, problems = hours_of(shop)
    assert problems == ()
    assert hours is not None
    return hours.windows(origin, days * DAY)


@pytest.mark.published
def test_a_shift_across_the_spring_change_is_an_hour_shorter() -> None:
    """Summer time began on 29 March 2026 at 01:00 UTC (Directive 2000/84/EC, article 2; memory)."""
    shop = Shop(zone="Europe/Berlin", shift=("00:00-06:00",), days=("Sun",))
    origin = datetime(2026, 3, 28, 0, 0, tzinfo=UTC)
    # Midnight of 29 March is 23:00 UTC of the 28th; 06:00 summer time is 04:00 UTC.
    assert windows(shop, origin, 3) == ((23 * 60, 28 * 60),)


@pytest.mark.published
def test_a_shift_across_the_autumn_change_is_an_hour_longer() -> None:
    """Summer time ended on 25 October 2026 at 01:00 UTC (the same directive)."""
    shop = Shop(zone="Europe/Berlin", shift=("00:00-06:00",), days=("Sun",))
    origin = datetime(2026, 10, 24, 0, 0, tzinfo=UTC)
    assert windows(shop, origin, 3) == ((22 * 60, 29 * 60),)


@pytest.mark.exact
def test_days_keep_their_local_hours_when_the_clocks_change() -> None:
    shop = Shop(zone="Europe/Berlin", shift=("07:30-12:00",), days=("Fri", "Mon"))
    origin = datetime(2026, 3, 27, 0, 0, tzinfo=UTC)
    friday, monday = windows(shop, origin, 4)
    assert friday[0] == 6 * 60 + 30
    assert monday[0] == 3 * DAY + 5 * 60 + 30


@pytest.mark.exact
def test_the_weekend_is_free_and_touching_shifts_are_one() -> None:
    shop = Shop(zone="UTC", shift=("08:00-12:00", "12:00-16:00"))
    origin = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)  # a Friday
    found = windows(shop, origin, 4)
    assert found == ((480, 960), (3 * DAY + 480, 3 * DAY + 960))


@pytest.mark.parametrize(
    ("shop", "words"),
    [
        (Shop(shift=("16:00-08:00",)), "'16:00-08:00' ends before it starts"),
        (Shop(shift=("8 to 16",)), "'8 to 16' is no stretch of hours"),
        (Shop(shift=("08:00-12:00", "11:00-16:00")), "starts before the one above it ends"),
        (Shop(shift=()), "no working hours"),
        (Shop(days=()), "no working days"),
        (Shop(zone="Mars/Olympus"), "no time zone"),
    ],
)
@pytest.mark.exact
def test_hours_that_cannot_be_are_told_with_their_place(shop: Shop, words: str) -> None:
    hours, problems = hours_of(shop)
    assert hours is None
    assert len(problems) == 1
    assert words in problems[0].what
    assert problems[0].where.startswith("shop.")


@pytest.mark.exact
def test_seconds_are_rounded_up_to_the_minute() -> None:
    assert whole_minute(datetime(2026, 1, 1, 8, 0, 1, tzinfo=UTC)).minute == 1
    assert whole_minute(datetime(2026, 1, 1, 8, 0, 0, tzinfo=UTC)).minute == 0


CALENDAR = Calendar("shop", ((3, 10), (12, 20), (30, 37)))


def counted(duration: int, start: int) -> int | None:
    """End of a task that pauses, counted minute by minute; None out of hours."""
    inside = [any(a <= m < b for a, b in CALENDAR.windows) for m in range(60)]
    if not inside[start]:
        return None
    left = duration
    for minute in range(start, 60):
        left -= inside[minute]
        if left == 0:
            return minute + 1
    return None


@pytest.mark.second_route
@pytest.mark.parametrize("duration", range(1, 16))
def test_the_time_on_the_clock_is_what_counting_minutes_gives(duration: int) -> None:
    starts = Starts(free_pieces(duration, Pause.PAUSES, CALENDAR, 60))
    clock, axis = Clock(CALENDAR), Axis.of(CALENDAR, 60)
    for time in range(36):
        end = counted(duration, time)
        found = starts.next(time)
        if end is None:
            assert found is None or found[0] > time
            continue
        assert found == (time, end - time)
        assert clock.span(duration, Pause.PAUSES, time) == (time, end)
        assert axis.worked(time) + duration == axis.worked(end)


@pytest.mark.exact
def test_an_unbroken_task_starts_only_where_it_fits() -> None:
    starts = Starts(free_pieces(7, Pause.UNBROKEN, CALENDAR, 60))
    assert [starts.next(time) for time in (0, 3, 4, 13, 14)] == [
        (3, 7),
        (3, 7),
        (12, 7),
        (13, 7),
        (30, 7),
    ]
