"""Answers are kept: a new fact asks only the rooms whose input it changed."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright import bond, fit, joints, quiet, teardown
from panelwright.facts.file import read
from panelwright.facts.problem import Question
from panelwright.record import Unanswered
from panelwright.web.answers import _asked
from panelwright.web.desk import Desk
from panelwright.web.known import READS, only
from panelwright.web.writes import Say, facts_of, ids_of, new_key

ROOMS = {
    Question.TEARDOWN: teardown.answer,
    Question.JOINTS: joints.answer,
    Question.FIT: fit.answer,
    Question.BOND: bond.answer,
    Question.QUIET: quiet.answer,
}
FILES = ("heron.toml", "heron-found.toml", "heron-moved.toml", "box-side-inches.toml")


@pytest.mark.invariant
@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("question", list(ROOMS))
def test_a_room_answers_the_same_without_the_tables_that_it_does_not_read(
    examples: Path, file: str, question: Question
) -> None:
    repair = read((examples / file).read_text("utf-8"))
    room = ROOMS[question]
    assert _asked(room, only(repair, READS[question])) == _asked(room, repair)


def made(desk: Desk) -> dict[str, int]:
    return {question.value: kept.made for question, kept in desk.answers.rooms.items()}


def ask(desk: Desk) -> None:
    known = desk.answers.known("heron-114")
    for question in READS:
        getattr(desk.answers, question.value)(known)


def say(desk: Desk, client: TestClient, *said: Say) -> None:
    from panelwright.store import Person  # noqa: PLC0415
    from panelwright.web.visit import Visit  # noqa: PLC0415

    visit = Visit(None, desk, Person("Anna"))  # type: ignore[arg-type]
    ids = ids_of(new_key(desk.settings), {}, len(said))
    desk.store.append("heron-114", facts_of(visit, ids, said))


SAID = [
    (
        Say("reading", {"from": "C3", "to": "L11", "value": "1834 mm", "with": "tape"}),
        {"fit"},
    ),
    (Say("finding", {"part": "outer", "what": "a second tear"}), {"teardown"}),
    (
        Say("temperature", {"joint": "arch", "along": "200 mm", "minute": 15, "value": "48 °C"}),
        {"bond"},
    ),
    (Say("step", {"id": "wash", "hours": 0.5}), set()),
    (Say("event", {"kind": "done", "step": "x", "at": "2026-11-25T12:00:00Z"}), set()),
    (Say("conditions", {"air": "21 °C", "humidity": 50}), {"bond", "fit", "quiet"}),
    (Say("procedure", {"reference": "another", "revision": "B"}), {"teardown", "joints"}),
    (Say("photo", {"sha256": "0" * 64}), set()),
]


@pytest.mark.parametrize(("said", "rooms"), SAID, ids=[said.kind for said, _ in SAID])
def test_a_fact_asks_only_the_rooms_that_read_it(
    heron: TestClient, desk: Desk, said: Say, rooms: set[str]
) -> None:
    desk.summaries.close()
    ask(desk)
    before = made(desk)
    ask(desk)
    assert made(desk) == before
    say(desk, heron, said)
    ask(desk)
    after = made(desk)
    assert {room for room in after if after[room] > before[room]} == rooms
    assert all(after[room] - before[room] <= 1 for room in after)


def test_what_stands_in_the_way_is_said_instead_of_an_answer(heron: TestClient, desk: Desk) -> None:
    say(desk, heron, Say("reading", {"from": "nowhere", "to": "L3", "value": "3 mm"}))
    known = desk.answers.known("heron-114")
    found = desk.answers.fit(known)
    assert isinstance(found, Unanswered)
    assert found.why[0].startswith("Mend first: reading")
    assert not isinstance(desk.answers.joints(known), Unanswered)


def test_a_room_without_an_answer_is_not_asked_twice(client: TestClient, desk: Desk) -> None:
    from tests.web.test_live import fact  # noqa: PLC0415

    desk.store.start("van-7", [fact(0)])
    known = desk.answers.known("van-7")
    assert isinstance(desk.answers.bond(known), Unanswered)
    before = made(desk)
    assert isinstance(desk.answers.bond(known), Unanswered)
    assert made(desk) == before


def test_the_plan_is_made_beside_and_kept(heron: TestClient, desk: Desk) -> None:
    desk.summaries.close()
    known = desk.answers.known("heron-114")
    first = desk.answers.plan(known)
    assert (first.answer, first.current) == (None, False)
    assert desk.work.idle(60.0)
    second = desk.answers.plan(known)
    assert second.current
    assert second.answer is not None
    say(desk, heron, Say("step", {"id": "wash", "hours": 0.5}))
    third = desk.answers.plan(desk.answers.known("heron-114"))
    assert third.answer is second.answer  # the one before, while a newer is made
    assert not third.current


def test_the_plan_is_the_one_that_the_room_itself_makes(heron: TestClient, desk: Desk) -> None:
    from panelwright import plan  # noqa: PLC0415

    desk.summaries.close()
    known = desk.answers.known("heron-114")
    desk.answers.plan(known)
    assert desk.work.idle(60.0)
    found = desk.answers.plan(known).answer
    assert found == plan.answer([known.repair], as_of=desk.answers.plan_time())


def test_plans_start_from_a_full_quarter_of_an_hour(desk: Desk) -> None:
    desk.settings.clock.go(minutes=37, seconds=5)  # type: ignore[attr-defined]
    assert desk.answers.plan_time().strftime("%H:%M:%S") == "12:30:00"
