from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.facts.strategies import facts

from panelwright.errors import InvalidFile
from panelwright.facts.document import document_of, facts_of
from panelwright.facts.entry import Fact
from panelwright.facts.file import document_from
from panelwright.facts.fold import fold
from panelwright.facts.identity import uuid7
from panelwright.facts.kinds import WITHDRAWN, kinds
from panelwright.facts.log import Log, log_bytes
from panelwright.facts.problem import Question

START = datetime(2026, 11, 20, 8, 0, tzinfo=UTC)


def fact(
    number: int,
    kind: str,
    body: Mapping[str, object],
    *,
    version: int = 1,
    minute: float | None = None,
    ahead_s: float = 0.0,
) -> Fact:
    observed = START + timedelta(minutes=number if minute is None else minute)
    return Fact(
        id=uuid7(START, (number << 6).to_bytes(10)),
        kind=kind,
        version=version,
        body=body,
        observed_at=observed,
        clock_offset_s=ahead_s,
        recorded_at=START + timedelta(minutes=number),
        person="Kim",
    )


def withdrawal(number: int, of: Fact) -> Fact:
    return fact(number, WITHDRAWN, {"id": str(of.id), "reason": "typed wrong"})


OUTER = fact(1, "part", {"id": "outer", "state": "replace"})
INNER = fact(2, "part", {"id": "inner", "thickness": "1.5 mm"})


@pytest.mark.exact
def test_an_empty_log_is_a_repair_without_anything() -> None:
    folded = fold(Log())
    assert folded.repair.name == "repair"
    assert folded.repair.parts == ()
    assert folded.problems == ()


@pytest.mark.exact
def test_facts_make_a_repair_in_their_order() -> None:
    folded = fold(Log().extend([INNER, OUTER, fact(3, "conditions", {"air": "66 °F"})]))
    assert [part.id for part in folded.repair.parts] == ["inner", "outer"]
    assert folded.repair.conditions.air is not None
    assert folded.repair.conditions.air.typed == "66 °F"
    assert folded.problems == ()


@pytest.mark.exact
def test_a_finding_replaces_the_state_of_its_part() -> None:
    found = fact(3, "finding", {"part": "inner", "what": "creased", "state": "replace"})
    repair = fold(Log().extend([OUTER, INNER, found])).repair
    assert repair.part_by_id["inner"].state == "replace"


@pytest.mark.exact
def test_a_withdrawn_fact_is_gone_and_still_in_the_log() -> None:
    log = Log().extend([OUTER, INNER, withdrawal(3, INNER)])
    folded = fold(log)
    assert [part.id for part in folded.repair.parts] == ["outer"]
    assert folded.withdrawn == {INNER.id}
    assert folded.problems == ()
    assert INNER in log.facts


@pytest.mark.exact
def test_a_withdrawal_that_came_before_its_fact_holds_too() -> None:
    folded = fold(Log().extend([withdrawal(3, INNER), OUTER, INNER]))
    assert [part.id for part in folded.repair.parts] == ["outer"]
    assert folded.problems == ()


@pytest.mark.exact
def test_a_withdrawal_can_be_withdrawn() -> None:
    first = withdrawal(3, INNER)
    second = withdrawal(4, first)
    third = withdrawal(5, second)
    back = fold(Log().extend([OUTER, INNER, first, second]))
    assert [part.id for part in back.repair.parts] == ["outer", "inner"]
    gone = fold(Log().extend([OUTER, INNER, first, second, third]))
    assert [part.id for part in gone.repair.parts] == ["outer"]


@pytest.mark.exact
@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ({"id": "nobody", "reason": "x"}, "'nobody' is no fact of this log"),
        ({"id": str(fact(9, "part", {}).id)}, "is no fact of this log"),
        ({"reason": "x"}, "None is no fact of this log"),
        ({"id": 7}, "7 is no fact of this log"),
        ({"id": str(fact(3, "part", {}).id)}, "is no withdrawal before this one"),
    ],
    ids=["no id", "another id", "left out", "a number", "itself"],
)
def test_a_withdrawal_of_nothing_is_a_problem_that_stops_no_question(
    body: dict[str, object], sentence: str
) -> None:
    folded = fold(Log().extend([OUTER, fact(3, WITHDRAWN, body)]))
    (problem,) = folded.problems
    assert sentence in problem.what
    assert problem.blocks == frozenset()
    assert [part.id for part in folded.repair.parts] == ["outer"]


@pytest.mark.exact
def test_two_withdrawals_of_each_other_leave_the_later() -> None:
    second = withdrawal(5, withdrawal(4, OUTER))
    first = withdrawal(4, second)
    folded = fold(Log().extend([OUTER, first, second]))
    assert folded.withdrawn == {first.id}
    assert folded.problems == ()


@pytest.mark.exact
def test_a_fact_that_does_not_fit_its_table_is_a_problem_with_its_id() -> None:
    wrong = fact(3, "part", {"id": "roof", "thickness": "12"})
    folded = fold(Log().extend([OUTER, wrong]))
    (problem,) = folded.problems
    assert problem.where == f"part {wrong.id} .thickness"
    assert "the unit of 12 is missing" in problem.what
    assert [part.id for part in folded.repair.parts] == ["outer"]
    assert folded.facts == (OUTER,)
    assert folded.repair.problems == folded.problems


@pytest.mark.exact
def test_a_reading_that_does_not_fit_stops_only_the_questions_that_need_readings() -> None:
    wrong = fact(3, "reading", {"from": "L3"})
    assert fold(Log().extend([OUTER, wrong])).problems[0].blocks == {Question.FIT}


@pytest.mark.exact
def test_what_does_not_fit_together_is_a_problem_of_the_file() -> None:
    joint = fact(3, "joint", {"id": "arch", "layers": ["outer", "roof"]})
    folded = fold(Log().extend([OUTER, joint]))
    assert [problem.where for problem in folded.problems] == ["joint[0].layers"]
    assert [one.id for one in folded.repair.joints] == ["arch"]


@pytest.mark.exact
def test_a_kind_from_elsewhere_is_told_and_left_out() -> None:
    folded = fold(Log().extend([OUTER, fact(3, "weather", {"rain": True})]))
    (problem,) = folded.problems
    assert "no such kind of fact" in problem.what
    assert problem.blocks == frozenset()


@pytest.mark.exact
def test_the_header_observed_last_counts_whenever_it_was_recorded() -> None:
    late = fact(4, "conditions", {"air": "19 °C"}, minute=30)
    early = fact(5, "conditions", {"air": "15 °C"}, minute=10)
    told = fold(Log().extend([late, early]))
    assert told.repair.conditions.air is not None
    assert told.repair.conditions.air.celsius == 19.0
    assert told.facts == (late,)
    fast = fact(6, "conditions", {"air": "21 °C"}, minute=40, ahead_s=3600.0)  # at -20 in truth
    assert fold(Log().extend([late, fast])).facts == (late,)


@pytest.mark.exact
def test_of_two_headers_of_one_moment_the_later_in_the_log_counts() -> None:
    first = fact(4, "vehicle", {"label": "Heron"}, minute=0)
    second = fact(5, "vehicle", {"label": "Heron long"}, minute=0)
    assert fold(Log().extend([first, second])).repair.vehicle.label == "Heron long"


def _renamed(body: Mapping[str, object]) -> Mapping[str, object]:
    return {"id": body["name"], "state": body["state"]}


def _stated(body: Mapping[str, object]) -> Mapping[str, object]:
    return {**body, "state": "replace" if body["state"] == "new" else body["state"]}


CASTS = {("part", 1): _renamed, ("part", 2): _stated}


@pytest.mark.exact
def test_old_versions_are_raised_on_reading_and_kept_as_written() -> None:
    old = fact(1, "part", {"name": "outer", "state": "new"})
    middle = fact(2, "part", {"id": "inner", "state": "new"}, version=2)
    new = fact(3, "part", {"id": "roof", "state": "keep"}, version=3)
    log = Log().extend([old, middle, new])
    before = log_bytes(log)
    folded = fold(log, upcasts=CASTS)
    assert [(part.id, part.state) for part in folded.repair.parts] == [
        ("outer", "replace"),
        ("inner", "replace"),
        ("roof", "keep"),
    ]
    assert {one.version for one in folded.facts} == {3}
    assert folded.problems == ()
    assert log_bytes(log) == before
    assert log.facts[0].body == {"name": "outer", "state": "new"}


@pytest.mark.exact
@pytest.mark.parametrize(
    ("version", "body", "sentence"),
    [
        (4, {"id": "outer"}, "it is in version 4, and version 3 is known here"),
        (1, {"id": "outer"}, "its version 1 cannot be read by the rules of version 3"),
    ],
)
def test_versions_that_cannot_be_read_are_problems(
    version: int, body: dict[str, object], sentence: str
) -> None:
    folded = fold(Log().append(fact(1, "part", body, version=version)), upcasts=CASTS)
    (problem,) = folded.problems
    assert sentence in problem.what
    assert Question.TEARDOWN in problem.blocks
    assert folded.facts == ()


def told_in_turn(told: list[Fact]) -> Log:
    log = Log()
    for one in told:
        try:
            log = log.append(one)
        except InvalidFile:  # an id that stands for another fact already
            continue
    return log


@pytest.mark.invariant
@given(st.lists(facts(), max_size=12), st.randoms(use_true_random=False))
def test_any_facts_in_any_order_give_a_repair(told: list[Fact], random: object) -> None:
    told = list(told)
    random.shuffle(told)  # type: ignore[attr-defined]
    log = told_in_turn(told)
    folded = fold(log)
    assert all(problem.where and problem.what for problem in folded.problems)
    assert {one.id for one in folded.facts} <= {one.id for one in log.facts} - folded.withdrawn
    document_from(document_of(folded))  # what is left is a valid file


@pytest.mark.invariant
@given(st.lists(facts(), max_size=8))
def test_no_fact_is_lost_without_a_word(told: list[Fact]) -> None:
    log = told_in_turn(told)
    folded = fold(log)
    words = " ".join(problem.where for problem in folded.problems)
    kept = {one.id for one in folded.facts}
    for one in log.facts:
        assert (
            one.kind == WITHDRAWN
            or one.id in kept
            or one.id in folded.withdrawn
            or one.id in folded.replaced
            or str(one.id) in words
        )
    assert not folded.replaced & (kept | folded.withdrawn)
    tables = {(one.kind, str(one.body.get("id"))) for one in folded.facts}
    for one in log.facts:
        single = kinds()[one.kind].single if one.kind in kinds() else False
        stands = any(kind == one.kind for kind, _ in tables) if single else False
        assert one.id not in folded.replaced or stands or (one.kind, str(one.body["id"])) in tables


@pytest.mark.exact
def test_a_table_said_anew_stands_where_it_was_said_first() -> None:
    anew = fact(3, "part", {"id": "outer", "state": "repair"})
    folded = fold(Log().extend([OUTER, INNER, anew]))
    assert [(part.id, part.state) for part in folded.repair.parts] == [
        ("outer", "repair"),
        ("inner", "keep"),
    ]
    assert folded.facts == (anew, INNER)
    assert folded.replaced == {OUTER.id}
    assert folded.problems == ()


@pytest.mark.exact
def test_of_a_table_said_anew_the_one_observed_last_counts_whenever_recorded() -> None:
    late = fact(4, "part", {"id": "outer", "state": "section"}, minute=30)
    offline = fact(5, "part", {"id": "outer", "state": "repair"}, minute=10)
    folded = fold(Log().extend([OUTER, late, offline]))
    assert folded.facts == (late,)
    assert folded.replaced == {OUTER.id, offline.id}


@pytest.mark.exact
def test_what_was_said_before_counts_again_once_the_later_is_withdrawn() -> None:
    anew = fact(3, "part", {"id": "outer", "state": "repair"})
    folded = fold(Log().extend([OUTER, anew, withdrawal(4, anew)]))
    assert folded.facts == (OUTER,)
    assert folded.replaced == frozenset()


@pytest.mark.exact
def test_a_table_said_anew_wrongly_stands_as_it_was_said_before() -> None:
    wrong = fact(3, "part", {"id": "outer", "thickness": "12"})
    folded = fold(Log().extend([OUTER, wrong]))
    assert folded.facts == (OUTER,)
    assert [problem.where for problem in folded.problems] == [f"part {wrong.id} .thickness"]


@pytest.mark.exact
def test_a_wrong_table_that_was_said_anew_rightly_is_no_problem_any_more() -> None:
    wrong = fact(3, "part", {"id": "outer", "thickness": "12"})
    right = fact(4, "part", {"id": "outer", "thickness": "1.2 mm"})
    another = fact(5, "part", {"id": "roof", "thickness": "12"})
    folded = fold(Log().extend([OUTER, wrong, right, another]))
    assert folded.facts == (right,)
    assert folded.replaced == {OUTER.id, wrong.id}
    assert [problem.where for problem in folded.problems] == [f"part {another.id} .thickness"]


@pytest.mark.exact
def test_two_tables_of_one_id_from_one_file_are_still_a_problem() -> None:
    twice = {"part": [{"id": "outer"}, {"id": "inner"}, {"id": "outer", "state": "repair"}]}
    folded = fold(Log().extend(facts_of(twice, person="Kim")))
    assert [problem.where for problem in folded.problems] == ["part[2].id"]
    assert "'outer' is used twice" in folded.problems[0].what
    anew = fact(9, "part", {"id": "outer", "state": "section"})
    mended = fold(Log().extend([*facts_of(twice, person="Kim"), anew]))
    assert [part.id for part in mended.repair.parts] == ["outer", "inner"]
    assert mended.problems == ()


@pytest.mark.exact
def test_readings_are_never_replaced() -> None:
    told = [
        fact(n, "reading", {"id": "r1", "from": "A", "to": "B", "value": 100 + n}) for n in (3, 4)
    ]
    points = [fact(n, "point", {"id": name}) for n, name in ((1, "A"), (2, "B"))]
    folded = fold(Log().extend([*points, *told]))
    assert len(folded.repair.readings) == 2
    assert folded.replaced == frozenset()
