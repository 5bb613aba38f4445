"""A page does not wait for long: it shows the last answers, says so, and the newest come."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from concurrent.futures import CancelledError
from threading import Event

import pytest
from starlette.testclient import TestClient

from panelwright.facts.file import read
from panelwright.facts.problem import Question
from panelwright.facts.repair import Repair
from panelwright.record import Unanswered
from panelwright.web.desk import Desk
from panelwright.web.known import holds_all_of
from panelwright.web.turns import Turns
from panelwright.web.writes import Say
from tests.web.conftest import Watch
from tests.web.test_answers import say

SOON_S = 20.0


class Slow:
    """Work that waits until it is let go."""

    def __init__(self) -> None:
        self.begun, self.go, self.made = Event(), Event(), list[str]()

    def __call__(self, name: str) -> Callable[[], None]:
        def made() -> None:
            self.begun.set()
            assert self.go.wait(SOON_S)
            self.made.append(name)

        return made


@pytest.fixture
def told() -> list[Hashable]:
    """The slots whose questions were answered."""
    return []


@pytest.fixture
def turns(told: list[Hashable]) -> Iterator[Turns]:
    """One thread that answers."""
    made = Turns(1, told.append)
    made.start()
    yield made
    made.close()


def test_the_newest_question_takes_the_place_of_one_that_waits(
    turns: Turns, told: list[Hashable]
) -> None:
    slow = Slow()
    first = turns.put("a", 1, slow("a1"))
    assert slow.begun.wait(SOON_S)
    second = turns.put("a", 2, slow("a2"))
    other = turns.put("b", 1, slow("b1"))
    third = turns.put("a", 3, slow("a3"))
    assert turns.put("a", 3, slow("never")) is third
    assert turns.put("a", 1, slow("never")) is first
    assert (first.ahead, second.ahead, other.ahead, third.ahead) == (0, 1, 2, 1)
    with pytest.raises(CancelledError):
        second.done.result(0)
    slow.go.set()
    for turn in (first, third, other):
        turn.done.result(SOON_S)
    assert slow.made == ["a1", "a3", "b1"]
    turns.put("c", 1, lambda: None).done.result(SOON_S)
    assert told[:3] == ["a", "a", "b"]


def test_a_question_that_fails_tells_who_asked_and_others_go_on(turns: Turns) -> None:
    def fails() -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        turns.put("a", 1, fails).done.result(SOON_S)
    turns.put("a", 2, lambda: None).done.result(SOON_S)


@pytest.fixture
def late(desk: Desk) -> Iterator[Turns]:
    """Turns of a desk whose other work is done where it is asked for."""
    made = Turns(1, desk._answered)
    made.start()
    desk.answers._turns = made
    yield made
    made.close()


def test_a_page_shows_the_last_answer_while_the_newest_is_made(
    heron: TestClient, desk: Desk, late: Turns, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = desk.answers.fit(desk.answers.known("heron-114"))
    say(
        desk, heron, Say("reading", {"from": "C3", "to": "L11", "value": "1834 mm", "with": "tape"})
    )
    known = desk.answers.known("heron-114")
    asked, slow = desk.answers._asking.ask, Slow()

    def ask(*arguments: object) -> object:
        slow("asked")()
        return asked(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(desk.answers._asking, "ask", ask)
    hurried = desk.answers.hurried(0.01)
    assert hurried.fit(known) is before
    assert hurried.late == {Question.FIT}
    assert not desk.answers.late
    page = heron.get("/repairs/heron-114/fit").text
    assert "Newer facts are being worked in: where the panel sits." in page
    slow.go.set()
    newest = desk.answers.fit(known)
    assert not isinstance(newest, Unanswered)
    assert newest is not before
    again = desk.answers.hurried(SOON_S)
    assert again.fit(known) is newest
    assert not again.late
    assert "Newer facts" not in heron.get("/repairs/heron-114/fit").text


def test_a_page_waits_where_the_last_answer_speaks_of_what_is_gone(
    heron: TestClient, desk: Desk, watch: Watch, late: Turns
) -> None:
    answers = desk.answers.hurried(0.0)
    say(desk, heron, Say("point", {"id": "L99", "on": "outer", "xyz": [0, 0, 0]}))
    known = desk.answers.known("heron-114")
    answers.fit(known)
    fact = next(f for f in known.log.facts if f.body.get("id") == "L99")
    watch.go(minutes=1)
    say(desk, heron, Say("withdrawn", {"id": str(fact.id), "reason": "no such point"}))
    found = answers.fit(desk.answers.known("heron-114"))
    assert found is desk.answers.fit(desk.answers.known("heron-114"))
    assert not answers.late


@pytest.fixture
def repair(examples: object) -> Repair:
    """The demonstration repair."""
    return read((examples / "heron.toml").read_text("utf-8"))  # type: ignore[operator]


def test_what_is_gone_is_noticed(repair: Repair) -> None:
    from dataclasses import replace  # noqa: PLC0415

    less = replace(repair, points=repair.points[1:])
    assert holds_all_of(repair, repair)
    assert holds_all_of(repair, less)
    assert not holds_all_of(less, repair)
