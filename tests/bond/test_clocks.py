"""Clocks: UTC differences over daylight-saving, order, lamp time as switched."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.bond.conftest import Make

from panelwright import bond
from panelwright.bond.answer import Band, Stay
from panelwright.bond.clock_checks import (
    clock_problems,
    future_problems,
    missing_problems,
    order_problems,
    repeated_problems,
)
from panelwright.bond.clocks import (
    clock_of,
    later,
    minutes_between,
    recorded,
    run,
    spoken,
    switched_stays,
    zone_of,
)
from panelwright.errors import Unanswerable
from panelwright.facts.models.bonding import Event

BERLIN = zone_of("Europe/Berlin")


def event(kind: str, at: datetime, **more: str) -> Event:
    return Event.model_validate({"kind": kind, "at": at, "joint": "arch", **more})


def at(hour: int, minute: int = 0, *, offset_h: int = 1, day: int = 20) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=timezone(timedelta(hours=offset_h)))


@pytest.mark.exact
def test_an_hour_over_the_end_of_summer_time_is_an_hour() -> None:
    # 25 October 2026: at 03:00 +02:00 the clock goes back to 02:00 +01:00.
    closed = datetime(2026, 10, 25, 2, 30, tzinfo=timezone(timedelta(hours=2)))
    clock = clock_of(recorded([event("closed", closed)], "arch"), 2.0)
    ran = run(clock, work_min=None, handle_min=Band(30.0, 60.0, 120.0), full_min=None)
    assert ran.handle is not None
    local = ran.handle.likely.astimezone(BERLIN)
    assert (local.hour, local.minute, local.utcoffset()) == (2, 30, timedelta(hours=1))
    assert ran.handle.late - closed == timedelta(hours=2)


@pytest.mark.exact
def test_clocks_run_from_their_own_moments() -> None:
    found = recorded(
        [event("prepared", at(12)), event("bead-begun", at(13, 5)), event("closed", at(13, 25))],
        "arch",
    )
    clock = run(
        clock_of(found, 2.0),
        work_min=52.0,
        handle_min=Band(100, 150, 200),
        full_min=Band(1000, 1440, 2000),
    )
    assert clock.prepared_until == at(14)
    assert clock.work_until == at(13, 57)
    assert clock.handle is not None
    assert clock.full is not None
    assert clock.handle.late == at(13, 25) + timedelta(minutes=200)
    assert clock.full.likely == at(13, 25) + timedelta(days=1)
    assert clock_problems("arch", clock, BERLIN) == ()


def test_events_out_of_order_get_a_sentence_and_keep_their_clock() -> None:
    found = recorded([event("bead-begun", at(13, 5)), event("closed", at(13, 0))], "arch")
    (problem,) = order_problems("arch", found, BERLIN)
    assert "closed at 2026-11-20 13:00 stands before bead-begun at 2026-11-20 13:05" in problem.what
    assert clock_of(found, 2.0).closed == at(13)


def test_moments_in_order_get_none() -> None:
    kinds = ("prepared", "bead-begun", "closed", "rivets-set", "lamp-on", "lamp-off", "released")
    events = [event(kind, at(9 + k)) for k, kind in enumerate(kinds)]
    assert order_problems("arch", recorded(events, "arch"), BERLIN) == ()


def test_another_joint_s_events_do_not_count() -> None:
    assert recorded([event("closed", at(13))], "sill").at("closed") is None


@pytest.mark.parametrize(
    ("events", "words"),
    [
        ([event("prepared", at(9)), event("bead-begun", at(12))], "prepare again"),
        ([event("bead-begun", at(9)), event("closed", at(11))], "closed at .*may have gelled"),
        (
            [event("bead-begun", at(9)), event("closed", at(9, 20)), event("rivets-set", at(11))],
            "rivets were set at .*may have gelled",
        ),
        ([event("closed", at(9)), event("released", at(10))], "released at .*support the joint"),
    ],
)
def test_too_late_and_too_early(events: list[Event], words: str) -> None:
    clock = run(
        clock_of(recorded(events, "arch"), 2.0),
        work_min=60.0,
        handle_min=Band(100, 150, 200),
        full_min=None,
    )
    (problem,) = clock_problems("arch", clock, BERLIN)
    assert re.search(words, problem.what)


@pytest.mark.exact
def test_lamp_as_it_was_switched() -> None:
    events = [
        event("closed", at(13)),
        event("lamp-on", at(13, 10)),
        event("lamp-off", at(13, 40)),
        event("lamp-on", at(14)),
    ]
    found = recorded(events, "arch")
    assert switched_stays(found, "lamp 1", ((0.0, 40.0),)) == (
        Stay("lamp 1", 10.0, 40.0, recorded=True),
        Stay("lamp 1", 60.0, 70.0, recorded=True),  # what is left of the 40 min planned
    )


def test_a_lamp_not_switched_yet_is_as_planned() -> None:
    found = recorded([event("closed", at(13))], "arch")
    assert switched_stays(found, "l", ((5.0, 9.0),)) == (Stay("l", 5.0, 9.0, recorded=False),)


def test_another_lamp_s_switch_does_not_count() -> None:
    events = [event("closed", at(13)), event("lamp-on", at(13, 10), lamp="lamp 2")]
    stays = switched_stays(recorded(events, "arch"), "lamp 1", ((0.0, 40.0),))
    assert stays == (Stay("lamp 1", 0.0, 40.0, recorded=False),)


@pytest.mark.invariant
@given(
    moment=st.datetimes(datetime(2020, 1, 1), datetime(2035, 1, 1), timezones=st.just(BERLIN)),  # noqa: DTZ001
    minutes=st.floats(0, 1e5),
)
def test_later_counts_real_minutes(moment: datetime, minutes: float) -> None:
    found = later(moment.astimezone(UTC), minutes)
    assert found is not None
    passed = (found - moment.astimezone(UTC)).total_seconds()
    assert passed == pytest.approx(60.0 * minutes, abs=0.51)


def test_a_zone_that_is_none_reads_utc() -> None:
    assert zone_of("Nowhere/Land").key == "UTC"


@pytest.mark.exact
def test_minutes_between_moments_of_two_offsets() -> None:
    assert minutes_between(at(13, offset_h=2), at(13, offset_h=1)) == 60.0
    assert minutes_between(None, at(13)) is None


@pytest.mark.exact
def test_the_hour_that_a_clock_shows_twice_carries_its_name() -> None:
    # 25 October 2026, Berlin: 02:30 comes at 00:30 UTC and again at 01:30 UTC.
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert spoken(first, BERLIN) == "2026-10-25 02:30 CEST"
    assert spoken(first + timedelta(hours=1), BERLIN) == "2026-10-25 02:30 CET"
    assert spoken(first + timedelta(hours=2), BERLIN) == "2026-10-25 03:30"


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("closed", "panel on at .* adhesive started is not recorded: the work time"),
        ("rivets-set", "rivets set at .* panel on is not recorded"),
        ("released", "released at .* panel on is not recorded"),
        ("lamp-off", "lamp off at .* lamp on is not recorded"),
    ],
)
def test_a_moment_without_the_one_before_is_told(kind: str, words: str) -> None:
    (problem,) = missing_problems("arch", recorded([event(kind, at(13))], "arch"), BERLIN)
    assert re.search(words, problem.what)


def test_a_moment_said_twice_is_told_and_the_last_counts() -> None:
    events = [event("closed", at(13)), event("closed", at(13, 20)), event("closed", at(13, 20))]
    (problem,) = repeated_problems("arch", events, BERLIN)
    assert "panel on stands 2 times (2026-11-20 13:00, 2026-11-20 13:20)" in problem.what
    assert recorded(events, "arch").at("closed") == at(13, 20)
    assert repeated_problems("arch", events[1:], BERLIN) == ()


def test_a_lamp_is_switched_as_often_as_it_is() -> None:
    events = [event("lamp-on", at(13)), event("lamp-off", at(14)), event("lamp-on", at(15))]
    assert repeated_problems("arch", events, BERLIN) == ()


def test_a_moment_still_to_come_is_told_and_its_clock_stays() -> None:
    clock = clock_of(recorded([event("closed", at(13, 10))], "arch"), 2.0)
    (problem,) = future_problems("arch", clock, at(13), BERLIN)
    assert "panel on stands at 2026-11-20 13:10, which is still to come" in problem.what
    assert future_problems("arch", clock, at(13, 10), BERLIN) == ()
    assert clock.closed == at(13, 10)


def test_a_clock_is_not_lost_for_want_of_an_adhesive(make: Make) -> None:
    def without(data: dict[str, object]) -> None:
        data["adhesive"] = []

    with pytest.raises(Unanswerable, match="no adhesive for this joint"):
        bond.answer(make(without))
    told = {"kind": "bead-begun", "joint": "arch", "at": at(13)}
    answer = bond.answer(make(without, lambda data: data.update(event=[told])))
    (joint,) = answer.joints
    assert (joint.clock.bead_begun, joint.work_until_min) == (at(13), None)
    assert any("no adhesive for this joint" in problem.what for problem in answer.problems)
