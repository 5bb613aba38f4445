"""Parts list, supplement, chart, page and published keys."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
import vl_convert

from panelwright.cli.pages.plan import page
from panelwright.facts.repair import Repair
from panelwright.plan import answer
from panelwright.plan.answer import KitLine, PlanAnswer, Window, amount_in_words
from panelwright.plan.chart import Json, Place, SqueezedAxis, chart
from panelwright.plan.published import as_json
from panelwright.plan.supplement import Kind, Side, supplement
from panelwright.quantities import Units

Build = Callable[..., Repair]


@pytest.fixture(scope="module")
def plain(panel: Build) -> PlanAnswer:
    return answer([panel()])


def line(plan: PlanAnswer, words: str) -> KitLine:
    return next(line for line in plan.kit if words in line.item)


@pytest.mark.exact
def test_rivets_are_counted_with_spare_and_trial(plain: PlanAnswer) -> None:
    rivets = line(plain, "R48")
    # 10 to set, 10 % spare is 1 but at least 2, and 2 for the trial.
    assert (rivets.need, rivets.have, rivets.short) == (14, 40, False)


@pytest.mark.exact
def test_ten_percent_spare_counts_where_it_is_more_than_two(panel: Build) -> None:
    count = 'remake = { rivet = "R48", count = 45, adhesive = "G1" }'
    rivets = line(answer([panel(count=count)]), "R48")
    assert rivets.need == 45 + 5 + 2
    assert rivets.short


@pytest.mark.exact
def test_adhesive_too_old_on_its_day_is_short(panel: Build, plain: PlanAnswer) -> None:
    assert not line(plain, "G1").short
    old = line(answer([panel(use_by="use_by = 2026-11-19")]), "G1")
    assert old.short
    assert "too old" in old.note


@pytest.mark.exact
def test_the_kit_holds_what_bonding_uses_up(plain: PlanAnswer) -> None:
    items = " ".join(line.item for line in plain.kit)
    for word in (
        "skin",
        "nozzles",
        "brushes",
        "coupon strips of EN AW-6016-T4",
        "degreaser",
        "seam sealer",
        "cavity wax",
        "abrasive",
        "drill bit",
        "class D",
    ):
        assert word in items, word
    assert all(line.sources for line in plain.kit)


@pytest.mark.exact
def test_one_is_said_without_s() -> None:
    assert amount_in_words(1, "cartridges") == "1 cartridge"
    assert amount_in_words(2, "cartridges") == "2 cartridges"


@pytest.mark.exact
def test_the_supplement_names_what_a_find_changed(panel: Build, plain: PlanAnswer) -> None:
    more = '[[joint]]\nid = "deep"\nlayers = ["inner", "body"]\nlength = "400 mm"\n'
    more += 'flange = "18 mm"\nremake = { rivet = "R48", count = 6, adhesive = "G1" }\n'
    before = Side(panel(more), answer([panel(more)]))
    finding = '[[finding]]\npart = "inner"\nwhat = "folded"\nstate = "replace"\n'
    after = Side(panel(more + finding), answer([panel(more + finding)]))
    found = supplement(before, after)
    said = {(change.kind, change.id): change for change in found.changes}
    assert said[Kind.FINDING, "inner"].after == "folded"
    assert (said[Kind.PART, "inner"].before, said[Kind.PART, "inner"].after) == ("keep", "replace")
    assert said[Kind.JOINT, "deep"].before == "left closed"
    assert said[Kind.STEP, "separate-deep"].before == "–"
    assert said[Kind.TIME, "p50"].before != said[Kind.TIME, "p50"].after
    assert found.work_after_h > found.work_before_h
    same = Side(panel(), plain)
    assert supplement(same, same).changes == ()


@pytest.mark.invariant
def test_the_squeezed_axis_keeps_order_and_working_time() -> None:
    start = datetime.fromisoformat("2026-11-20T08:00:00+01:00")
    hours = [(0, 240), (270, 480), (1440, 1680)]
    windows = [Window(start + timedelta(minutes=a), start + timedelta(minutes=b)) for a, b in hours]
    axis = SqueezedAxis(windows)
    places = [axis.at(start + timedelta(minutes=m)) for m in range(0, 1700, 10)]
    assert places == sorted(places)
    for window in windows:
        minutes = (window.end - window.start).total_seconds() / 60
        assert axis.at(window.end) - axis.at(window.start) == pytest.approx(minutes)


@pytest.mark.exact
@pytest.mark.parametrize("place", list(Place))
def test_the_chart_is_drawn_with_real_text(plain: PlanAnswer, place: Place) -> None:
    spec = chart(plain, place)
    assert spec is not None
    svg = vl_convert.vegalite_to_svg(json.dumps(spec))
    for words in ("bond", "cure", "fit and hand over", "ready for paint 50 %:", "Fri 20 Nov"):
        assert words in svg, words


def values_of(spec: Json, key: str) -> list[Mapping[str, Json]]:
    """Rows of data that have a key, of all layers of a chart."""
    if not isinstance(spec, Mapping):
        return []
    data = spec.get("data")
    rows = data.get("values") if isinstance(data, Mapping) else None
    found = [row for row in rows or () if isinstance(row, Mapping) and key in row]
    layers = spec.get("layer")
    for layer in layers if isinstance(layers, list) else ():
        found += values_of(layer, key)
    return found


@pytest.mark.invariant
def test_no_bars_of_one_row_of_the_chart_overlap_but_waits(plain: PlanAnswer) -> None:
    bars = [bar for bar in values_of(chart(plain), "who") if bar["who"] not in ("wait", "lamp")]
    by_row: dict[Json, list[tuple[float, float]]] = {}
    for bar in bars:
        by_row.setdefault(bar["row"], []).append((float(bar["from"]), float(bar["to"])))
    paper = [s for s in plain.steps if s.stage < 12 and not s.done and s.end > s.start]
    assert len(values_of(chart(plain), "who")) == len(paper)
    for spans in by_row.values():
        ordered = sorted(spans)
        for (_, end), (start, _) in pairwise(ordered):
            assert end <= start + 8.0  # a bar is drawn at least 1.5 px wide


@pytest.mark.exact
def test_every_hold_point_up_to_paint_has_a_diamond(plain: PlanAnswer) -> None:
    holds = [s for s in plain.steps if s.hold and s.stage < 12 and not s.done]
    diamonds = [row for row in values_of(chart(plain), "at") if "row" in row]
    assert len(diamonds) == len(holds)


@pytest.mark.exact
def test_dates_on_the_chart_keep_clear_of_each_other(plain: PlanAnswer) -> None:
    days = [row for row in values_of(chart(plain), "day") if row["day"]]
    size = Place.PACKET.value
    spec = chart(plain)
    assert spec is not None
    whole = max(float(bar["to"]) for bar in values_of(spec, "who"))
    letters = size.text * 0.5 * len("Fri 20 Nov")
    for one, other in pairwise(days):
        assert (float(other["at"]) - float(one["at"])) * size.width / whole >= letters


@pytest.mark.exact
def test_the_page_begins_with_an_instruction_and_the_time(plain: PlanAnswer) -> None:
    text = page(plain, Units.MM)
    first = text.split("\n\n")[0].replace("\n", " ")
    assert first.startswith("Next: Identify the vehicle")
    assert f"ready for paint {plain.ready_for_paint[0].p50:%a %d %b %H:%M}" in first
    assert f"(90 %: {plain.ready_for_paint[0].p90:%a %d %b %H:%M})" in first
    assert "Aluminium dust burns" in text
    assert "common practice, no source" in text
    assert "Status optimal, gap 0.0 %" in text
    assert max(len(row) for row in text.splitlines()) <= 96


@pytest.mark.exact
def test_an_infeasible_plan_says_why_first(panel: Build) -> None:
    more = '[[step]]\nid = "x"\nhours = 0.1\nafter = ["hand-over"]\nbefore = ["identify"]\n'
    text = page(answer([panel(more)]), Units.MM)
    assert text.startswith("There is no plan yet. These steps wait for each other")


@pytest.mark.exact
def test_the_published_keys_are_those_that_others_rely_on(plain: PlanAnswer) -> None:
    found = json.loads(json.dumps(as_json(plain), allow_nan=False))
    assert {"steps", "kit", "ready_for_paint", "critical", "status", "gap"} <= set(found)
    assert {"id", "repair", "by", "start", "end", "waits_for", "cautions"} <= set(found["steps"][0])
    assert {"item", "need", "have", "for"} <= set(found["kit"][0])
    assert set(found["ready_for_paint"]["wren-7"]) >= {"p50", "p90"}
    assert datetime.fromisoformat(found["steps"][0]["start"]).utcoffset() is not None
