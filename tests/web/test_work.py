"""Long work: one at a time, the newest only, in a process that can be stopped."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread

import pytest

from panelwright.errors import Unanswerable
from panelwright.record import Unanswered
from panelwright.web.work import (
    MOST_CANCELS,
    Failed,
    Hands,
    Job,
    ProcessHands,
    ThreadHands,
    Work,
    done_by,
)


def double(number: int) -> int:
    return 2 * number


def refuse() -> None:
    raise Unanswerable(["no parts"])


def break_down() -> None:
    raise ZeroDivisionError("a defect")


def die() -> None:
    os._exit(1)


def wait_for_ever(started: str) -> None:
    Path(started).write_text(str(os.getpid()), "utf-8")
    Event().wait(600)


@contextmanager
def working(hands: Callable[[], Hands]) -> Iterator[tuple[Work, list[tuple[object, object]]]]:
    done: list[tuple[object, object]] = []
    work = Work(hands, lambda job, value: done.append((job.key, value)))
    work.start()
    try:
        yield work, done
    finally:
        work.close()


def until(true: Callable[[], bool], seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited too long"
        Event().wait(0.02)


@pytest.mark.parametrize("hands", [ThreadHands, ProcessHands])
def test_work_is_done_and_told(hands: Callable[[], Hands]) -> None:
    with working(hands) as (work, done):
        work.ask(Job("a", 1, double, (21,)))
        work.ask(Job("b", 2, refuse, ()))
        work.ask(Job("c", 3, break_down, ()))
        assert work.idle(60.0)
        assert done[:2] == [(1, 42), (2, Unanswered(("no parts",)))]
        failed = done[2][1]
        assert isinstance(failed, Failed)
        assert "ZeroDivisionError: a defect" in failed.trace


def test_a_newer_job_of_its_slot_cancels_the_older(tmp_path: Path) -> None:
    started = tmp_path / "started"
    with working(ProcessHands) as (work, done):
        work.ask(Job("plan", "old", wait_for_ever, (str(started),)))
        until(started.exists)
        work.ask(Job("plan", "new", double, (4,)))
        assert work.idle(60.0)
        assert done == [("new", 8)]
        with pytest.raises(ProcessLookupError):
            until(lambda: os.kill(int(started.read_text("utf-8")), 0) is not None, 5.0)


def test_a_job_of_another_slot_waits_its_turn() -> None:
    with working(ThreadHands) as (work, done):
        for number in range(5):
            work.ask(Job(number, number, double, (number,)))
        assert work.idle(10.0)
        assert done == [(number, 2 * number) for number in range(5)]


def test_of_jobs_that_wait_only_the_newest_of_a_slot_is_done() -> None:
    hold, held = Event(), Event()

    class Slow(ThreadHands):
        def outcome(self, wait_s: float) -> tuple[object, ...]:
            held.set()
            return super().outcome(wait_s) if hold.wait(wait_s) else ()

    with working(Slow) as (work, done):
        work.ask(Job("first", 0, double, (0,)))
        assert held.wait(10.0)
        for number in range(1, 9):
            work.ask(Job("plan", number, double, (number,)))
        hold.set()
        assert work.idle(10.0)
        assert done == [(0, 0), (8, 16)]


def test_facts_that_come_all_the_time_do_not_keep_a_plan_from_being_made() -> None:
    class Stubborn(ThreadHands):
        """Needs three looks for each job, and something newer comes before each."""

        def begin(self, job: Job) -> None:
            super().begin(job)
            self.looks = 0

        def outcome(self, wait_s: float) -> tuple[object, ...]:
            self.looks += 1
            newest.append(newest[-1] + 1)
            if newest[-1] < 60:
                work.ask(Job("plan", newest[-1], double, (newest[-1],)))
            return super().outcome(wait_s) if self.looks > 2 else ()

    newest = [0]
    with working(Stubborn) as (work, done):
        work.ask(Job("plan", 0, double, (0,)))
        assert work.idle(20.0)
    assert len(done) > 60 // (3 * (MOST_CANCELS + 2))
    assert len(done) >= 5


def test_a_process_that_dies_is_told_and_replaced() -> None:
    with working(ProcessHands) as (work, done):
        work.ask(Job("a", 1, die, ()))
        work.ask(Job("b", 2, double, (3,)))
        assert work.idle(60.0)
        assert isinstance(done[0][1], Failed)
        assert done[1] == (2, 6)


def test_closing_stops_what_runs(tmp_path: Path) -> None:
    started = tmp_path / "started"
    with working(ProcessHands) as (work, done):
        work.ask(Job("plan", "old", wait_for_ever, (str(started),)))
        until(started.exists)
        closer = Thread(target=work.close)
        closer.start()
        closer.join(20.0)
        assert not closer.is_alive()
        assert done == []
    with pytest.raises(ProcessLookupError):
        until(lambda: os.kill(int(started.read_text("utf-8")), 0) is not None, 5.0)


def test_asking_for_what_runs_already_starts_nothing_new() -> None:
    calls = []

    def note(number: int) -> int:
        calls.append(number)
        return number

    with working(ThreadHands) as (work, _):
        for _unused in range(3):
            work.ask(Job("a", 1, note, (1,)))
        assert work.idle(10.0)
    assert len(calls) == 1


def test_an_outcome_that_cannot_be_told_stops_nothing(caplog: pytest.LogCaptureFixture) -> None:
    def told(job: Job, _: object) -> None:
        if job.key == 1:
            raise RuntimeError("nobody listens")
        heard.append(job.key)

    heard: list[object] = []
    work = Work(ThreadHands, told)
    work.start()
    work.ask(Job("a", 1, double, (1,)))
    work.ask(Job("b", 2, double, (1,)))
    assert work.idle(10.0)
    work.close()
    assert heard == [2]
    assert "nobody listens" in caplog.text


def test_done_by_gives_the_value() -> None:
    assert done_by(double, (2,)) == 4


class Unsendable:
    """Grows while it is sent, as a repair did in which other threads looked things up."""

    def __reduce__(self) -> str:
        raise RuntimeError("dictionary changed size during iteration")


def test_a_job_that_cannot_be_begun_stops_nothing() -> None:
    with working(ProcessHands) as (work, done):
        work.ask(Job("a", 1, double, (Unsendable(),)))
        until(lambda: len(done) == 1)
        work.ask(Job("b", 2, double, (1,)))
        until(lambda: len(done) == 2)
    (first, broke), (second, value) = done
    assert (first, second, value) == (1, 2, 2)
    assert isinstance(broke, Failed)
    assert "changed size" in broke.trace
