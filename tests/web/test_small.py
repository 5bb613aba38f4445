"""Forms, clocks, kept values, drawings: what pages are made of."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from threading import Barrier, Thread

import pytest

from panelwright.bond.answer import BondAnswer, Clock, Fit, JointBond, Moments, Stay, Surface
from panelwright.quantities import Units
from panelwright.record import Unanswered
from panelwright.web.clocks import running
from panelwright.web.drawings import inline
from panelwright.web.forms import Form
from panelwright.web.kept import Kept
from panelwright.web.shown import Clock as RunningClock
from panelwright.web.shown import left, percent
from panelwright.web.writes import ids_of

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


# -------------------------------------------------------------------- forms


@pytest.mark.parametrize(
    ("typed", "units", "kept"),
    [
        ("1834", Units.MM, "1834 mm"),
        ("12 3/8", Units.IN, "12 3/8 in"),
        ("12 3/8 in", Units.MM, "12 3/8 in"),
        (" 5.6 ", Units.MM, "5.6 mm"),
        ("-1.5", Units.MM, "-1.5 mm"),
        ("3 ft", Units.MM, "3 ft"),
    ],
)
def test_a_length_is_kept_as_it_was_typed_with_its_unit(
    typed: str, units: Units, kept: str
) -> None:
    form = Form({"value": typed})
    assert form.length("value", units) == kept
    assert form.ok


@pytest.mark.parametrize("typed", ["abc", "12 3/", "1 2 3", "12 kg", "9" * 70, "1834 1834"])
def test_what_is_no_length_is_told_in_a_sentence(typed: str) -> None:
    form = Form({"value": typed})
    assert form.length("value", Units.MM) is None
    assert form.problem("value").endswith(".")
    assert form.value("value") == typed


def test_a_missing_value_is_told_only_where_it_is_needed() -> None:
    form = Form({"value": " "})
    assert form.length("value", Units.MM) is None
    assert form.ok
    assert form.length("value", Units.MM, need="Type it.") is None
    assert form.problem("value") == "Type it."


def test_a_temperature_takes_the_unit_of_its_reader() -> None:
    assert Form({"t": "66"}).temperature("t", Units.IN) == "66 °F"
    assert Form({"t": "19"}).temperature("t", Units.MM) == "19 °C"


@pytest.mark.parametrize("typed", ["nan", "inf", "11", "-1", "x", "1e999"])
def test_a_number_out_of_its_range_is_refused(typed: str) -> None:
    form = Form({"n": typed})
    assert form.number("n", least=0, most=10) is None
    assert not form.ok


def test_a_moment_without_offset_is_the_shops() -> None:
    there = NOON.astimezone()
    form = Form({"at": "2026-11-25T13:05"})
    moment = form.moment("at", there)
    assert moment is not None
    assert datetime.fromisoformat(moment).utcoffset() == there.utcoffset()
    assert Form({"at": "noon"}).moment("at", there) is None


def test_what_no_field_shows_is_said_at_the_top() -> None:
    form = Form()
    form.wrong("a", "A.")
    form.wrong("b", "B.")
    assert form.problem("a") == "A."
    assert form.lift()
    assert form.problem("") == "B."
    assert not form.lift()


def test_a_form_has_the_same_ids_again_and_another_form_has_others() -> None:
    key = "0" * 12 + "ab" * 10
    first = ids_of(key, {"a": "1", "b": "2"}, 3)
    assert first == ids_of(key, {"b": "2", "a": "1"}, 3)
    others = ids_of(key, {"a": "1", "b": "3"}, 3) + ids_of("0" * 12 + "ac" * 10, {}, 3)
    assert len(set(first) | set(others)) == 9


@pytest.mark.parametrize("key", ["", "x" * 32, "0" * 31, "f" * 32 + "0"])
def test_a_key_of_nowhere_is_refused(key: str) -> None:
    with pytest.raises(ValueError, match=r"key|hex|literal|non-hex"):
        ids_of(key, {}, 1)


# ------------------------------------------------------------------- clocks


def bond(joint: str, clock: Clock, stays: tuple[Stay, ...] = ()) -> JointBond:
    return JointBond(joint, "a", clock=clock, stays=stays)


def clocks_of(*bonds: JointBond, now: datetime = NOON) -> tuple[RunningClock, ...]:
    surface = Surface(None, None, None, None, Fit.YES, 2.0, "", ())
    answer = BondAnswer(bonds, surface, (), ())
    return running(answer, {"arch": "the arch"}, now)


def shown(*bonds: JointBond, now: datetime = NOON) -> list[tuple[str, datetime, bool]]:
    return [(c.label, c.until, c.limit) for c in clocks_of(*bonds, now=now)]


def at(minutes: float) -> datetime:
    return NOON + timedelta(minutes=minutes)


def moments(*minutes: float) -> Moments:
    return Moments(*(at(one) for one in minutes))


def test_a_prepared_surface_must_be_bonded_in_time() -> None:
    clock = Clock(prepared=NOON, prepared_until=at(120))
    assert shown(bond("arch", clock)) == [("Adhesive on the arch by", at(120), True)]


def test_the_early_bound_of_the_work_time_counts() -> None:
    clock = Clock(prepared_until=at(5), bead_begun=NOON, work_until=at(50))
    assert shown(bond("arch", clock)) == [("Panel on and last rivet of the arch by", at(50), True)]


def test_the_late_bound_of_handling_counts() -> None:
    clock = Clock(
        bead_begun=NOON,
        work_until=at(50),
        closed=at(20),
        rivets_set=at(30),
        handle=moments(200, 240, 300),
        full=moments(900, 1000, 1200),
    )
    assert shown(bond("arch", clock)) == [("Leave the arch clamped until", at(300), False)]


def test_what_is_released_waits_for_full_strength() -> None:
    clock = Clock(closed=NOON, released=at(300), handle=moments(1, 2, 3), full=moments(8, 9, 10))
    assert shown(bond("arch", clock)) == [("the arch holds in full from", at(10), False)]


def test_a_lamp_that_is_on_counts_to_its_end() -> None:
    clock = Clock(closed=NOON, lamp_on=at(1), rivets_set=at(1), handle=moments(1, 2, 90))
    stays = (Stay("lamp 1", 1.0, 41.0, recorded=True),)
    assert shown(bond("arch", clock, stays))[0] == ("Lamp at the arch off at", at(41), True)


def test_alike_clocks_of_several_joints_are_one_with_the_end_that_protects() -> None:
    work = [Clock(bead_begun=NOON, work_until=at(n)) for n in (50, 40)]
    assert shown(bond("arch", work[0]), bond("sill", work[1])) == [
        ("Panel on and last rivet of the arch and sill by", at(40), True)
    ]
    waits = [Clock(closed=NOON, rivets_set=NOON, handle=moments(1, 2, n)) for n in (50, 60)]
    assert shown(bond("arch", waits[0]), bond("sill", waits[1]))[0][1] == at(60)


def test_a_clock_without_an_end_counts_up_from_its_moment() -> None:
    begun, closed = Clock(bead_begun=at(-7)), Clock(closed=at(-3), rivets_set=at(-1))
    found = clocks_of(bond("arch", begun), bond("sill", closed))
    assert [(one.label, one.until, one.since, one.end) for one in found] == [
        ("Adhesive on the arch; its work time is not known", at(-7), True, ""),
        ("sill is closed; its time to handling strength is not known", at(-3), True, ""),
    ]


def test_each_clock_with_an_end_says_its_alarm() -> None:
    lamp = (Stay("lamp 1", 1.0, 41.0, recorded=True),)
    running = Clock(
        bead_begun=NOON, work_until=at(50), closed=at(9), lamp_on=at(10), handle=moments(1, 2, 90)
    )
    found = {one.id: one for one in clocks_of(bond("arch", running, lamp))}
    told = {id_: (one.soon_min, one.soon, one.end) for id_, one in found.items()}
    reached = "Handling strength is reached by its late bound"
    assert told == {
        "work-arch": (10, "10 min left or less", "The time is over"),
        "lamp-arch": (3, "3 min left or less", "The time is over"),
        "handle-arch": (0, "", reached),
    }


def test_limits_come_before_waits() -> None:
    wait = Clock(closed=NOON, rivets_set=NOON, handle=moments(1, 2, 3))
    limit = Clock(bead_begun=NOON, work_until=at(50))
    assert [one[2] for one in shown(bond("a", wait), bond("b", limit))] == [True, False]


def test_a_clock_is_forgotten_half_a_day_after_its_end() -> None:
    clock = Clock(bead_begun=NOON, work_until=at(50))
    assert shown(bond("arch", clock), now=at(50 + 11 * 60))
    assert not shown(bond("arch", clock), now=at(50 + 13 * 60))


def test_no_answer_runs_no_clock() -> None:
    assert running(Unanswered(("why",)), {}, NOON) == ()


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0:00"),
        (59.2, "1:00"),
        (3909, "1:05:09"),
        (-180, "−3:00"),
        (60 * 3600, "2 d 12 h"),
        (2530, "42:10"),
    ],
)
def test_digits(seconds: float, words: str) -> None:
    assert left(NOON + timedelta(seconds=seconds), NOON) == words


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.5, "50 %"), (0.999, "above 99 %"), (1.0, "100 %"), (0.001, "below 1 %"), (0.0, "0 %")],
)
def test_chances(value: float, words: str) -> None:
    assert percent(value) == words


# --------------------------------------------------------------------- kept


def test_a_value_is_made_once_however_many_ask() -> None:
    kept: Kept[int, int] = Kept(4)
    together, made, got = Barrier(8), [], []

    def make() -> int:
        made.append(1)
        return 5

    def ask() -> None:
        together.wait()
        got.append(kept.get(1, make))

    threads = [Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (got, len(made), kept.made) == ([5] * 8, 1, 1)


def test_what_failed_is_tried_again() -> None:
    kept: Kept[int, int] = Kept(4)
    with pytest.raises(ZeroDivisionError):
        kept.get(1, lambda: 1 // 0)
    assert kept.peek(1) is None
    assert kept.get(1, lambda: 7) == 7


def test_what_was_not_used_for_longest_is_forgotten() -> None:
    kept: Kept[int, int] = Kept(2)
    for key in (1, 2):
        kept.put(key, key)
    assert kept.peek(1) == 1
    kept.put(3, 3)
    assert (kept.peek(1), kept.peek(2), kept.peek(3)) == (1, None, 3)


# ----------------------------------------------------------------- drawings


def test_a_drawing_within_a_page_breaks_no_policy() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        "<style>*{fill:red}</style><script>alert(1)</script>"
        '<a href="http://x.example"><path d="M0 0"/></a>'
        '<g style="stroke: #123; fill:none" onclick="x()"><text>A &lt; B</text></g></svg>'
    )
    drawn = str(inline(svg, 'of "it"'))
    assert "style" not in drawn
    assert "script" not in drawn
    assert "onclick" not in drawn
    assert "href" not in drawn
    assert 'stroke="#123"' in drawn
    assert "A &lt; B" in drawn
    assert 'aria-label="of &quot;it&quot;"' in drawn
    assert not re.search(r'<svg[^>]* width="', drawn)
