"""Does closing a panel fit in the work time, and what helps where it does not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import chain, combinations
from zoneinfo import ZoneInfo

import pytest

from panelwright.facts.repair import Repair
from panelwright.plan import Answers
from panelwright.plan.closing import closings
from panelwright.plan.closing_answer import Closing, Fits, Help, Way
from panelwright.plan.closing_words import as_json, lines
from panelwright.plan.gather import gather
from panelwright.plan.need import Share, Work, need_of, two_mixes
from panelwright.plan.pace import Pace, Paces, common
from panelwright.quantities import Temperature, Units

Build = Callable[..., Repair]
SLOW = Paces(Pace("rivet", 4.0, 3, 40.0), common().metre)
"""A shop whose rivets take 4 min each: 10 of them do not fit."""
MORE = """
[[joint]]
id = "rim"
layers = ["skin", "inner"]
length = "600 mm"
flange = "20 mm"
old = { fastener = "self-piercing rivet", diameter = "5.3 mm", count = 10, adhesive = true }
remake = { rivet = "R48", count = 10, adhesive = "G1" }
"""
BERLIN = ZoneInfo("Europe/Berlin")


def known(repair: Repair) -> Answers:
    return replace(gather(repair), fit=None, quiet=None)


def of(repair: Repair, shop: Paces | None = None, now: datetime | None = None) -> Closing:
    (found,) = closings(known(repair), shop, now)
    return found


@pytest.mark.exact
def test_a_small_panel_fits_with_its_margin(panel: Build) -> None:
    """Bead 3 + 0.6 × 3.5 min, closing 4 min, rivets 2 + 10 × 0.35 + 0.6 × 2 min."""
    found = of(panel())
    assert found.need.likely_min == pytest.approx(15.8)
    assert (found.fits, found.ways, found.people) == (Fits.YES, (), 1)
    assert (found.bead_mm, found.rivets) == (600.0, 10)
    assert found.work_min is not None
    assert found.margin_min == pytest.approx(found.work_min - found.need.late_min)
    assert found.celsius == 21.0
    assert "common practice, no source" in " ".join(lines(found, Units.MM, str))


@pytest.mark.exact
def test_the_late_need_by_hand() -> None:
    """Spread of three steps with 0.2, 0.25, 0.2 and 0.1 for all: 20, 10 and 30 min."""
    need = need_of(Work((), 20.0, 10.0, 30.0, 0.0, 0))
    sigma = (4.0**2 + 2.5**2 + 6.0**2 + 6.0**2) ** 0.5 / 60.0
    assert need.late_min == pytest.approx(60.0 * 2.718281828 ** (1.2816 * sigma))


def in_air(repair: Repair, celsius: float, humidity: float = 45.0) -> Repair:
    told = {"air": Temperature.parse(f"{celsius:g} °C"), "humidity": humidity}
    return replace(repair, conditions=repair.conditions.model_copy(update=told))


def ways(found: Closing) -> dict[Help, Way]:
    return {way.help: way for way in found.ways}


def test_where_it_does_not_fit_each_way_keeps_what_it_says(panel: Build) -> None:
    repair = panel(MORE)
    found = of(repair, SLOW)
    assert found.fits is Fits.NO
    assert "Do not start like this" in next(iter(lines(found, Units.MM, str)))
    told = ways(found)
    hands = told[Help.HANDS]
    assert hands.people >= 2
    assert "(the shop has 1)" in hands.words
    assert hands.need.late_min <= hands.work_min
    assert f"{int(hands.margin_min)} min to spare" in hands.words
    fewer = need_of(work(found), hands.people - 1)
    assert fewer.late_min > hands.work_min


def work(found: Closing) -> Work:
    """The same by hand: two joints of 0.6 m and 10 rivets, 4 min a rivet."""
    share = 10 * found.rivet_pace.each_min + 0.6 * 2.0
    shares = tuple(Share(joint, 0.6 * 3.5, share) for joint in found.joints)
    return Work(shares, 3.0, 4.0, 2.0, 1.2, 20)


@pytest.mark.second_route
def test_cooled_to_the_warmest_whole_degree_at_which_it_fits(panel: Build) -> None:
    """The bond room is asked again at that temperature; a degree more is not enough."""
    shop = Paces(Pace("rivet", 4.3, 3, 40.0), common().metre)
    found = of(panel(), shop)
    assert found.fits is not Fits.YES
    cool = ways(found)[Help.COOL]
    assert cool.celsius is not None
    again = [of(in_air(panel(), cool.celsius + more), shop) for more in (0.0, 1.0)]
    assert [one.fits is Fits.YES for one in again] == [True, False]
    assert again[0].work_min == pytest.approx(cool.work_min, rel=1e-9)
    assert any("sets more slowly" in note for note in cool.notes)


def test_the_dew_point_forbids_to_cool(panel: Build) -> None:
    shop = Paces(Pace("rivet", 4.3, 3, 40.0), common().metre)
    cool = ways(of(in_air(panel(), 21.0, 69.0), shop))[Help.COOL]
    assert cool.fits is Fits.NO
    assert "Cooling does not help in this air" in cool.words


@pytest.mark.second_route
def test_two_mixes_are_the_best_of_all_splits_on_a_clock_of_their_own() -> None:
    """Every split of five joints, each bead and rivet put on a clock one after the other."""
    rows = [("a", 3, 9), ("b", 6, 2), ("c", 2, 2), ("d", 9, 12), ("e", 1, 7)]
    shares = tuple(Share(name, float(bead), float(rivet)) for name, bead, rivet in rows)
    whole = Work(shares, 3.0, 4.0, 2.0, 0.0, 0)
    names = [share.joint for share in shares]
    every = chain.from_iterable(combinations(names, n) for n in range(1, len(names)))
    lengths = {first: clocked(whole, first) for first in every}
    best = two_mixes(whole)
    assert best is not None
    assert set(best.first) | set(best.second) == set(names)
    assert best.need.likely_min == pytest.approx(max(clocked(whole, best.first)))
    # by the late end, which weighs steps by their spread: within 2 % of the shortest by minutes
    assert best.need.likely_min <= 1.02 * min(max(pair) for pair in lengths.values())
    assert best.need.likely_min < need_of(whole).likely_min


def clocked(work: Work, first: tuple[str, ...]) -> tuple[float, float]:
    """From the first bead of each mix to the last rivet of it, 2 min for the new nozzle."""
    now, begun = work.bead_min, 0.0
    one = [share for share in work.shares if share.joint in first]
    two = [share for share in work.shares if share.joint not in first]
    for share in one:
        now += share.bead_min
    now += 2.0
    second = now
    for share in two:
        now += share.bead_min
    now += work.close_min + work.rivet_min
    for share in one:
        now += share.rivet_min
    ends = [now - begun]
    for share in two:
        now += share.rivet_min
    return ends[0], now - second


def test_one_joint_is_not_split() -> None:
    assert two_mixes(Work((Share("a", 5.0, 5.0),), 3.0, 4.0, 2.0, 1.0, 10)) is None


@pytest.mark.invariant
@pytest.mark.parametrize("people", [1, 2, 3])
def test_more_hands_are_never_slower(people: int) -> None:
    some = Work((Share("a", 5.0, 9.0), Share("b", 7.0, 2.0)), 3.0, 4.0, 2.0, 1.0, 10)
    assert need_of(some, people + 1).late_min < need_of(some, people).late_min


def at(text: str) -> datetime:
    return datetime.fromisoformat(f"2026-{text}:00").replace(tzinfo=BERLIN)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("now", "before", "last"),
    [
        ("11-20T08:00", "11-20T12:00", False),
        ("11-20T11:50", "11-20T16:30", True),
        ("11-20T16:20", "11-23T12:00", False),  # Friday: the next stretch is Monday's
        ("10-23T16:20", "10-26T12:00", False),  # the clocks go back in between
    ],
)
def test_the_latest_start_before_the_break_or_the_end_of_the_shift(
    panel: Build, now: str, before: str, last: bool
) -> None:
    found = of(panel(), now=at(now))
    assert found.start is not None
    assert (found.start.before, found.start.last) == (at(before), last)
    length = (found.start.before - found.start.at).total_seconds() / 60.0
    assert found.need.late_min <= length < found.need.late_min + 1.0


def test_a_pause_costs_no_more_than_what_is_left(panel: Build) -> None:
    found = of(panel())
    assert found.pause is not None
    assert found.margin_min is not None
    assert found.pause.all_min == pytest.approx(found.margin_min)
    assert found.pause.gel_min < (found.work_min or 0.0)
    ratio = found.pause.gel_min / (found.work_min or 1.0)
    assert found.pause.nozzle_min == pytest.approx(ratio * found.margin_min)
    tight = of(panel(MORE), SLOW)
    assert tight.pause is not None
    assert tight.pause.all_min == 0.0
    assert any("No pause once the first bead" in words for words in lines(tight, Units.MM, str))


def test_a_cartridge_past_its_date_is_told_before_the_bead(panel: Build) -> None:
    now = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
    assert of(panel(), now=now).problems == ()
    (problem,) = of(panel(), now=now + timedelta(days=1)).problems
    assert "cartridge G1 is past its date (2027-03-01): do not start with it" in problem.what


def test_the_shop_s_own_hours_of_a_step_replace_the_pace(panel: Build) -> None:
    own = '[[step]]\nid = "rivet-skin"\nhours = 0.5\n'
    assert of(panel(own)).need.likely_min == pytest.approx(3 + 2.1 + 4 + 30)


def test_without_a_data_sheet_it_says_so(panel: Build) -> None:
    text = panel()
    bare = replace(text, adhesives=tuple(a.model_copy(update={"time": ()}) for a in text.adhesives))
    found = of(bare)
    assert (found.fits, found.work_min, found.pause) == (Fits.UNKNOWN, None, None)
    assert "is not known" in next(iter(lines(found, Units.MM, str)))


def test_a_panel_that_is_on_is_not_asked_about(panel: Build) -> None:
    closed = '[[event]]\nkind = "closed"\njoint = "edge"\nat = 2026-11-20T10:00:00+01:00\n'
    assert closings(known(panel(closed))) == ()


def test_json_says_the_same(panel: Build) -> None:
    found = of(panel(MORE), SLOW, at("11-20T08:00"))
    told = as_json(found)
    assert told["fits"] == "does not fit"
    assert told["minutes_per_rivet"] == {
        "value": 4.0,
        "runs": 3,
        "amount": 40.0,
        "from": "from this shop's own logs: 3 times, 40 rivets",
    }
    assert [way["help"] for way in told["ways"]] == [way.help.value for way in found.ways]  # type: ignore[attr-defined]
