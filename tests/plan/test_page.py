"""What the plan's page says, and in which order; cautions and hands where they belong."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from panelwright.cli.pages.plan import page
from panelwright.facts.repair import Repair
from panelwright.plan import answer
from panelwright.plan.answer import KitLine, PlanAnswer
from panelwright.quantities import Units

Build = Callable[..., Repair]


@pytest.fixture(scope="module")
def plain(panel: Build) -> PlanAnswer:
    return answer([panel()])


def line(plan: PlanAnswer, words: str) -> KitLine:
    return next(line for line in plan.kit if words in line.item)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("drive", "there", "absent"),
    [
        ("battery", "high-voltage", "fuel"),
        ("combustion", "fuel", "high-voltage"),
    ],
)
def test_a_caution_stands_only_where_its_danger_is(
    panel: Build, drive: str, there: str, absent: str
) -> None:
    plan = answer([panel(drive=f'drive = "{drive}"')])
    found = {caution.id for step in plan.steps for caution in step.cautions}
    assert there in found
    assert absent not in found
    assert "lamp" not in found


@pytest.mark.exact
@pytest.mark.parametrize("drive", ['drive = "hybrid"', ""])
def test_a_hybrid_and_an_unknown_drive_have_both_cautions(panel: Build, drive: str) -> None:
    plan = answer([panel(drive=drive)])
    found = {caution.id for step in plan.steps for caution in step.cautions}
    assert {"fuel", "high-voltage"} <= found


@pytest.mark.exact
def test_warm_pads_have_a_caution_of_their_own_without_a_lamp(panel: Build) -> None:
    pad = '[[pad]]\npart = "skin"\noutline = [[0, 0], [300, 0], [300, 200], [0, 200]]\n'
    plan = answer([panel(pad)])
    pads = next(step for step in plan.steps if step.id == "pads-skin")
    assert [caution.id for caution in pads.cautions] == ["hot-pads"]


@pytest.mark.exact
def test_one_technician_is_told_where_a_second_is_needed(panel: Build, plain: PlanAnswer) -> None:
    problem = next(p for p in plain.problems if p.where == "shop.technicians")
    assert "is 1: needs a second person for “Lift off panels” (1), “Hang dry” (1)" in problem.what
    text = page(plain, Units.MM)
    assert "needs a second person for" in text
    assert "technician +1" in text
    two = answer([panel(zone='zone = "Europe/Berlin"\ntechnicians = 2')])
    assert not any(p.where == "shop.technicians" for p in two.problems)
    assert "technician +1" not in page(two, Units.MM)


@pytest.mark.exact
def test_the_shops_equipment_is_needed_once_for_two_repairs(panel: Build) -> None:
    plan = answer([panel(), panel(name='"wren-8"')])
    assert line(plan, "class D").need == 1
    assert line(plan, "nozzles").need == 4


@pytest.mark.exact
def test_the_first_repairs_shop_governs_and_the_page_has_both_clocks(panel: Build) -> None:
    other = panel(name='"wren-8"', zone='zone = "America/Chicago"\ntechnicians = 2')
    plan = answer([panel(), other])
    problem = next(p for p in plan.problems if p.where == "wren-8, shop")
    assert "differs from the shop of wren-7 in time zone, technicians" in problem.what
    assert "its clock (Europe/Berlin)" in problem.what
    assert {str(step.start.tzinfo) for step in plan.steps} == {"Europe/Berlin"}
    ready = {one.repair: one for one in plan.ready_for_paint}["wren-8"]
    own = ready.p50.astimezone(ZoneInfo("America/Chicago"))
    first = page(plan, Units.MM).split("Parts list")[0].replace("\n", " ")
    assert f"by its own clock (America/Chicago) {own:%a %d %b %H:%M}" in first
    assert first.count("by its own clock") == 1


@pytest.mark.exact
def test_shops_that_differ_only_in_confidence_are_one_shop(panel: Build) -> None:
    other = panel(name='"wren-8"', zone='zone = "Europe/Berlin"\nconfidence = 0.9')
    assert not any(
        "shop" in p.where for p in answer([panel(), other]).problems if "differs" in p.what
    )


@pytest.mark.exact
def test_the_page_has_the_kit_second_and_the_cautions_last(panel: Build) -> None:
    count = 'remake = { rivet = "R48", count = 45, adhesive = "G1" }'
    text = page(answer([panel(count=count)]), Units.MM)
    places = [text.index(f"\n{word}\n") for word in ("Parts list", "Steps", "How sure", "Cautions")]
    assert places == sorted(places)
    kit = text[places[0] : places[1]].splitlines()
    rows = kit[kit.index(next(row for row in kit if row.startswith("─────  "))) + 1 :]
    assert rows[0].startswith("SHORT")
    sentence = "Aluminium dust burns and can explode"
    assert text.count(sentence) == 1
    assert text.index(sentence) > places[3]
    assert "mind: aluminium-" in text[places[1] : places[2]]


@pytest.mark.exact
def test_the_page_begins_with_a_hold_point_that_is_not_recorded(panel: Build) -> None:
    event = '[[event]]\nkind = "closed"\njoint = "edge"\nat = 2026-11-20T14:00:00+01:00\n'
    for repairs in ([panel(event)], [panel(event), panel(name='"wren-8"')]):
        text = page(answer(repairs), Units.MM).replace("\n", " ")
        assert "sign, or do now, what is not recorded: Release the body's geometry" in text
        assert "hold points are not recorded, though later steps are" in text
        assert text.startswith("Next")
        assert "→ step release-body" not in text
        assert "→ wren-7, step release-body" not in text


@pytest.mark.exact
def test_a_hold_point_that_is_not_recorded_comes_before_what_is_under_way(panel: Build) -> None:
    more = '[[station]]\nid = "s1"\npart = "skin"\nbeside = "inner"\nxyz = [0, 0, 0]\n'
    more += 'gap_towards = [1, 0, 0]\ngap = { want = "5 mm", tolerance = "1 mm" }\n'
    more += '[[reading]]\nstation = "s1"\ngap = "5 mm"\nat = 2026-11-23T10:00:00+01:00\n'
    plan = answer([panel(more)], as_of=datetime.fromisoformat("2026-11-23T10:05:00+01:00"))
    open_ = [step for step in plan.steps if not step.done]
    assert open_[0].id == "measure-fit-skin"
    text = page(plan, Units.MM).replace("\n", " ")
    assert text.startswith("Next: sign, or do now, what is not recorded: Release the body's")


@pytest.mark.exact
def test_an_end_a_week_away_is_told_with_its_date(panel: Build) -> None:
    own = '[[step]]\nid = "cure-edge"\nhours = {}\n'
    week, day = (page(answer([panel(own.format(hours))]), Units.MM) for hours in (170, 20))
    waits = [
        next(row for row in text.splitlines() if "handling strength; " in row or "gains" in row)
        for text in (week, day)
    ]
    assert re.search(r"\d\d:\d\d  \d\d [A-Z][a-z]{2} \d\d:\d\d", waits[0])
    assert re.search(r"\d\d:\d\d  [A-Z][a-z]{2} \d\d:\d\d", waits[1])
