"""Starting layouts: valid on both sides, mirrored, complete, and never taken for facts."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from panelwright.errors import InvalidFile, Unanswerable
from panelwright.facts.assumed import KINDS, confirmed, waiting
from panelwright.facts.document import text_of
from panelwright.facts.entry import Fact
from panelwright.facts.file import document_from, read
from panelwright.facts.fold import Folded, fold
from panelwright.facts.identity import uuid7
from panelwright.facts.layouts import Layout, Side, facts_of_layout, layout_data, layouts
from panelwright.facts.log import Log
from panelwright.facts.models.base import millimetres
from panelwright.facts.repair import Repair, repair_of
from panelwright.facts.toml_text import toml_text
from panelwright.fit import Answer
from panelwright.fit import answer as fit_answer
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.part_answer import Verdict
from panelwright.fit.places import locator_directions
from panelwright.teardown import answer as teardown_answer

OPENED = datetime(2026, 11, 20, 8, 10, tzinfo=UTC)
CASES = [
    pytest.param(layout, side, id=f"{layout.id}-{side}") for layout in layouts() for side in Side
]
each = pytest.mark.parametrize(("layout", "side"), CASES)
VECTORS = ("xyz", "gap_towards", "flush_towards", "normal", "axis", "slot_along")


def data(layout: Layout, side: Side) -> dict[str, Any]:
    return layout_data(layout.id, side=side, name="van-7", opened=OPENED)


def tables(told: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for kind in KINDS:
        for table in told[kind]:
            yield kind, table


def started(layout: Layout, side: Side) -> Log:
    facts = facts_of_layout(layout.id, side=side, name="van-7", opened=OPENED, person="Kim")
    return Log().extend(facts)


def said_after(log: Log, told: Sequence[tuple[str, Mapping[str, object]]]) -> Log:
    """The log with more facts, a second apart."""
    first = len(log.entries)
    facts = []
    for number, (kind, body) in enumerate(told, start=first):
        moment = OPENED + timedelta(seconds=number)
        identity = uuid7(moment, (number << 6).to_bytes(10))
        facts.append(
            Fact(
                id=identity,
                kind=kind,
                body=body,
                observed_at=moment,
                recorded_at=moment,
                person="Kim",
            )
        )
    return log.extend(facts)


def all_confirmed(log: Log) -> Log:
    return said_after(log, [(fact.kind, confirmed(fact.body)) for fact in waiting(fold(log))])


def read_at_home(layout: Layout, side: Side) -> list[tuple[str, dict[str, object]]]:
    """Readings of a vehicle that is just as the layout draws it, its new panel at home."""
    told = data(layout, side)
    readings: list[dict[str, object]] = []
    for point in told["point"]:
        place = {"point": point["id"], "xyz": point["xyz"], "u": "0.3 mm"}
        readings.append(place)
        if point.get("home") == "before":
            readings.append({**place, "when": "before"})
    for station in told["station"]:
        gap, flush = station["gap"]["want"], station["flush"]["want"]
        readings.append({"station": station["id"], "gap": gap, "flush": flush})
    readings += [{"contact": contact["id"], "state": "seated"} for contact in told["contact"]]
    readings += [{"locator": locator["id"], "state": "aligned"} for locator in told["locator"]]
    return [("reading", reading) for reading in readings]


# --- What there is --------------------------------------------------------------------------------


@pytest.mark.exact
def test_the_six_zones_are_there_on_both_sides() -> None:
    assert [layout.id for layout in layouts()] == [
        "van-rear-corner",
        "pickup-box-side",
        "estate-rear-quarter",
        "front-wing-bonnet",
        "door-skin",
        "roof",
    ]
    assert all(layout.sides == (Side.LEFT, Side.RIGHT) for layout in layouts())
    assert all(layout.name and layout.words.endswith(".") for layout in layouts())


@each
@pytest.mark.exact
def test_a_layout_is_a_repair_file_without_a_problem(layout: Layout, side: Side) -> None:
    repair = read(toml_text(data(layout, side)))
    assert repair.problems == ()
    assert repair.name == "van-7"
    assert repair.repair.opened == OPENED


@each
@pytest.mark.exact
def test_its_facts_fold_to_the_same_repair(layout: Layout, side: Side) -> None:
    folded = fold(started(layout, side))
    assert folded.problems == ()
    assert folded.repair == repair_of(document_from(data(layout, side)))
    assert read(text_of(folded)) == folded.repair


@each
@pytest.mark.exact
def test_everything_in_it_waits_to_be_confirmed(layout: Layout, side: Side) -> None:
    log = started(layout, side)
    told = [fact for fact in log.facts if fact.kind != "repair"]
    assert {fact.kind for fact in told} == set(KINDS)
    assert waiting(fold(log)) == tuple(told)


@each
@pytest.mark.exact
def test_it_tells_no_material_measure_or_procedure(layout: Layout, side: Side) -> None:
    kept = {
        "part": {"id", "name", "state", "structural", "flex", "hides", "carries", "assumed"},
        "joint": {"id", "name", "layers", "kind", "flange", "assumed"},
        "point": {"id", "name", "on", "xyz", "twin", "home", "tolerance", "damaged", "assumed"},
    }
    for kind, table in tables(data(layout, side)):
        assert table.keys() <= kept.get(kind, table.keys())
    assert {"repair", "format", *KINDS} == data(layout, side).keys()


@each
@pytest.mark.exact
def test_places_are_rounded_to_a_centimetre(layout: Layout, side: Side) -> None:
    for _, table in tables(data(layout, side)):
        assert all(value % 10 == 0 for value in table.get("xyz", ()))


@each
@pytest.mark.exact
def test_no_word_of_it_is_left_unsaid(layout: Layout, side: Side) -> None:
    text = toml_text(data(layout, side))
    assert not re.search(r"\{(side|other|near|far)\}", text)


# --- Left and right -------------------------------------------------------------------------------


def swapped(value: object) -> object:
    """The other side in words and ids, by plain replacing."""
    if isinstance(value, str):
        value = re.sub(r"\b([LR])(\d+)\b", lambda m: {"L": "R", "R": "L"}[m[1]] + m[2], value)
        return re.sub(
            r"\b(left|right)\b", lambda m: {"left": "right", "right": "left"}[m[1]], value
        )
    if isinstance(value, list):
        return [swapped(item) for item in value]
    return value


@pytest.mark.invariant
@pytest.mark.parametrize("layout", layouts(), ids=lambda layout: layout.id)
def test_the_right_is_the_mirror_image_of_the_left(layout: Layout) -> None:
    left, right = data(layout, Side.LEFT), data(layout, Side.RIGHT)
    assert left != right
    for (kind, one), (other_kind, other) in zip(tables(left), tables(right), strict=True):
        assert (kind, list(one)) == (other_kind, list(other))
        for key, value in one.items():
            if key in VECTORS:
                x, y, z = value
                assert other[key] == [x, -y, z]
            else:
                assert other[key] == swapped(value)


@each
@pytest.mark.exact
def test_every_point_beside_the_middle_has_its_twin_in_its_mirror_image(
    layout: Layout, side: Side
) -> None:
    points = {point["id"]: point for point in data(layout, side)["point"]}
    assert sum(name.startswith("L") for name in points) >= 7
    for name, point in points.items():
        x, y, z = point["xyz"]
        if name.startswith("C"):
            assert (y, point.get("twin")) == (0, None)
            continue
        twin = points[point["twin"]]
        assert (name[0], twin["id"]) in {("L", "R" + name[1:]), ("R", "L" + name[1:])}
        assert twin["twin"] == name
        assert twin["xyz"] == [x, -y, z]
        assert (y < 0) == (name[0] == "L")
        assert point["name"].startswith("left " if y < 0 else "right ")


@each
@pytest.mark.exact
def test_only_the_damaged_side_is_damaged_and_the_vehicle_outside_it_is_not(
    layout: Layout, side: Side
) -> None:
    letter = {"left": "L", "right": "R"}[side]
    for point in data(layout, side)["point"]:
        if point.get("damaged"):
            assert point["id"].startswith(letter)
            assert point.get("on", "body") != "body"
        if point.get("home") == "twin":
            assert point.get("damaged")


@each
@pytest.mark.exact
def test_panels_lift_and_stand_proud_outwards(layout: Layout, side: Side) -> None:
    outwards = {"left": -1, "right": 1}[side]
    told = data(layout, side)
    ways = [(contact["xyz"], contact["normal"]) for contact in told["contact"]]
    ways += [(station["xyz"], station["flush_towards"]) for station in told["station"]]
    for (_, y, _), (_, across, up) in ((xyz, way) for xyz, way in ways):
        assert across * outwards >= 0 or y * outwards < 0
        assert up >= 0


# --- Whether it holds the panel -------------------------------------------------------------------


def rank(rows: list[Any], places: list[Any]) -> int:
    """How many motions of a rigid part are held along these directions at these places."""
    middle = np.mean(places, axis=0)
    screws = [
        [*row, *(np.cross(np.subtract(place, middle), row) / 1000.0)]
        for row, place in zip(rows, places, strict=True)
    ]
    return int(np.linalg.matrix_rank(np.array(screws), tol=0.05))


@each
@pytest.mark.second_route
def test_contacts_and_locators_hold_every_motion_of_what_is_replaced(
    layout: Layout, side: Side
) -> None:
    repair = fold(all_confirmed(started(layout, side))).repair
    replaced = {part.id for part in repair.parts if part.state == "replace"}
    for name in {station.part for station in repair.stations}:
        assert name in replaced
        rows: list[Any] = [c.normal for c in repair.contacts if c.part == name]
        places: list[Any] = [millimetres(c.xyz) for c in repair.contacts if c.part == name]
        for locator in (p for p in repair.locators if p.part == name):
            held = locator_directions(locator)[locator.slot_along is not None :]
            rows += held
            places += [millimetres(locator.xyz)] * len(held)
        assert rank(rows, places) == 6


@each
@pytest.mark.exact
def test_a_vehicle_as_drawn_is_inside_once_all_is_confirmed(layout: Layout, side: Side) -> None:
    log = said_after(all_confirmed(started(layout, side)), read_at_home(layout, side))
    folded = fold(log)
    assert waiting(folded) == ()
    found = fit_answer(folded.repair)
    # As drawn, gaps are whole millimetres: the fit asks how fine the gauge is read.
    assert [problem for problem in found.problems if not problem.where.startswith("tool ")] == []
    assert found.body.status is BodyStatus.TRUE
    verdicts = [
        (part.id, judged.id, judged.verdict)
        for part in found.parts
        for judged in (*part.points, *part.stations)
    ]
    assert len(verdicts) >= len(folded.repair.stations) + 5
    assert {verdict for _, _, verdict in verdicts} == {Verdict.INSIDE}, verdicts
    assert all(unseen.u_mm is not None for part in found.parts for unseen in part.unseen)


# --- Never a home or a limit ----------------------------------------------------------------------


def measured(layout: Layout, side: Side) -> Repair:
    return fold(said_after(started(layout, side), read_at_home(layout, side))).repair


@each
@pytest.mark.exact
def test_the_fit_judges_nothing_that_is_assumed(layout: Layout, side: Side) -> None:
    repair = measured(layout, side)
    found = fit_answer(repair)
    assert found.parts == ()
    assert found.body.status is BodyStatus.NOT_CHECKED
    assert found.body.pairs == found.body.sheet == ()
    assert {row.component for row in found.readings} == {"x", "y", "z"}
    assert all(row.redundancy < 1e-6 for row in found.readings)
    told = {problem.where: problem.what for problem in found.problems}
    for kind in ("point", "station", "contact", "locator"):
        assert told[kind].startswith("assumed, confirm: ")
    waits = sum("is assumed: confirm it, and the reading counts" in what for what in told.values())
    assert waits == len(
        (*repair.assumed.stations, *repair.assumed.contacts, *repair.assumed.locators)
    )


def told_otherwise(log: Log) -> Log:
    """The same start with every assumed home, limit, want and direction another."""
    told: list[tuple[str, dict[str, object]]] = []
    for fact in waiting(fold(log)):
        body = dict(fact.body)
        if fact.kind == "point":
            body |= {"home": "xyz", "tolerance": "0.01 mm", "u": "0.001 mm"}
        if fact.kind == "station":
            body |= {
                "gap": {"want": "40 mm", "tolerance": "0.01 mm"},
                "flush": {"want": "-40 mm", "tolerance": "0.01 mm"},
                "gap_towards": (0, 0, 1),
            }
        if fact.kind == "contact":
            body |= {"normal": (0.6, 0, 0.8), "xyz": (0, 0, 0)}
        if fact.kind == "locator":
            body |= {"axis": (1, 0, 0), "slot_along": (0, 1, 0), "xyz": (0, 0, 0)}
        if fact.kind == "part":
            body |= {"thickness": "9 mm", "material": "EN AW-6005-T6"}
        if fact.kind == "joint":
            body |= {"length": "9 m", "flange": "90 mm", "old": {"count": 99}}
        told.append((fact.kind, body))
    return said_after(log, told)


@each
@pytest.mark.invariant
def test_no_assumed_number_but_a_place_to_start_from_reaches_the_rooms(
    layout: Layout, side: Side
) -> None:
    readings = read_at_home(layout, side)
    one = fold(said_after(started(layout, side), readings))
    other = fold(said_after(told_otherwise(started(layout, side)), readings))
    assert fit_answer(one.repair) == fit_answer(other.repair)
    assert other.replaced == {fact.id for fact in started(layout, side).facts[1:]}
    for room in ("teardown", "joints"):
        ask = import_module(f"panelwright.{room}").answer
        assert ask(one.repair) == ask(other.repair)


@each
@pytest.mark.invariant
def test_a_place_to_start_from_is_forgotten_once_it_is_read(layout: Layout, side: Side) -> None:
    readings = read_at_home(layout, side)
    log = started(layout, side)
    moved: list[tuple[str, Mapping[str, object]]] = []
    for fact in waiting(fold(log)):
        if fact.kind == "point":
            x, y, z = (int(str(value)) for value in list(fact.body["xyz"]))  # type: ignore[call-overload]
            moved.append(("point", {**fact.body, "xyz": (x + 70, y - 40, z + 50)}))
    one = fit_answer(fold(said_after(log, readings)).repair)
    other = fit_answer(fold(said_after(said_after(log, moved), readings)).repair)
    assert places(other) == pytest.approx(places(one), abs=1e-3)


def places(found: Answer) -> dict[str, float]:
    return {
        f"{point.id}.{axis}": value
        for point in found.points
        for axis, value in zip("xyz", point.xyz_mm or (), strict=True)
    }


# --- What the rooms say of it ---------------------------------------------------------------------


@each
@pytest.mark.exact
def test_teardown_answers_and_says_what_is_assumed(layout: Layout, side: Side) -> None:
    folded = fold(started(layout, side))
    found = teardown_answer(folded.repair)
    replaced = {part.id for part in folded.repair.parts if part.state == "replace"}
    inspected = {part.id for part in folded.repair.parts if part.state == "inspect"}
    assert replaced <= set(found.order)
    assert inspected <= {look.part for look in found.look}
    assert found.cycles == ()
    assert [problem.where for problem in found.problems] == ["part", "joint"]
    assert found.carried


@each
@pytest.mark.parametrize("room", ["joints", "fit", "bond", "quiet"])
@pytest.mark.exact
def test_every_room_answers_or_says_what_is_missing(layout: Layout, side: Side, room: str) -> None:
    folded = fold(started(layout, side))
    try:
        found = import_module(f"panelwright.{room}").answer(folded.repair)
        said = [f"{problem.where}: {problem.what}" for problem in found.problems]
    except Unanswerable as refusal:
        said = list(refusal.why)
    assert said
    assert all(said)


@pytest.mark.parametrize("layout", layouts(), ids=lambda layout: layout.id)
@pytest.mark.exact
def test_a_plan_can_be_made_of_a_start(layout: Layout) -> None:
    ask = import_module("panelwright.plan").answer
    found = ask([fold(started(layout, Side.RIGHT)).repair])
    assert found.steps
    assert found.ready_for_paint


# --- Confirming -----------------------------------------------------------------------------------


def the(folded: Folded, kind: str, name: str) -> Fact:
    (found,) = (f for f in waiting(folded) if f.kind == kind and f.body["id"] == name)
    return found


@pytest.mark.exact
def test_what_is_right_is_said_anew_and_what_is_wrong_is_said_otherwise() -> None:
    log = started(layouts()[0], Side.LEFT)
    folded = fold(log)
    station = the(folded, "station", "d1").body
    wider = {**confirmed(station), "gap": {"want": "6.5 mm", "tolerance": "1 mm"}}
    point = confirmed(the(folded, "point", "L9").body)
    after = fold(said_after(log, [("station", wider), ("point", point)]))
    assert after.problems == ()
    (kept,) = after.repair.stations
    assert kept.gap is not None
    assert kept.gap.want.mm == 6.5
    assert after.repair.point_by_id["L9"].home == "twin"
    assert after.repair.point_by_id["L10"].home is None
    assert [one.id for one in after.repair.points] == [one.id for one in folded.repair.points]
    assert len(waiting(after)) == len(waiting(folded)) - 2


# --- Bad input ------------------------------------------------------------------------------------


@pytest.mark.exact
def test_a_layout_that_is_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(InvalidFile, match="'boat' is none; there are: van-rear-corner, pickup"):
        layout_data("boat", side=Side.LEFT, name="van-7", opened=OPENED)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("name", "opened", "words"),
    [
        ("two words", OPENED, "repair.name"),
        ("van-7", datetime(2026, 11, 20, 8, 10), "has no offset from UTC"),  # noqa: DTZ001
    ],
)
def test_a_name_or_moment_that_cannot_be_one_is_told(
    name: str, opened: datetime, words: str
) -> None:
    with pytest.raises(InvalidFile, match=words):
        facts_of_layout("roof", side=Side.LEFT, name=name, opened=opened, person="Kim")
