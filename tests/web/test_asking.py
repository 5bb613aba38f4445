"""Rooms in processes of their own: the same answers, and a process that ends costs none."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from panelwright import quiet
from panelwright.facts.file import read
from panelwright.web.asking import STAND_BACK, Asking


@pytest.fixture(scope="module")
def asking() -> Iterator[Asking]:
    made = Asking(2)
    made.start()
    yield made
    made.close()


def where() -> tuple[int, bool]:
    """In which process, and whether it stands back."""
    if hasattr(os, "SCHED_IDLE"):
        return os.getpid(), os.sched_getscheduler(0) == os.SCHED_IDLE
    return os.getpid(), os.nice(0) == STAND_BACK


def slowly() -> int:
    time.sleep(0.3)  # so that two are asked at once
    return os.getpid()


def refused() -> int:
    raise ValueError("no answer")


def ended(tests: int) -> int:
    """End the process, unless it is the one of the tests."""
    if os.getpid() != tests:
        os.kill(os.getpid(), signal.SIGKILL)
    return os.getpid()


def test_a_question_is_answered_in_another_process_that_stands_back(asking: Asking) -> None:
    process, back = asking.ask(where)
    assert process != os.getpid()
    assert back


def test_several_are_asked_at_once(asking: Asking) -> None:
    with ThreadPoolExecutor(2) as pool:
        found = {future.result() for future in [pool.submit(asking.ask, slowly) for _ in "ab"]}
    assert len(found | {os.getpid()}) in {2, 3}


def test_a_room_answers_there_as_it_does_here(asking: Asking, examples: Path) -> None:
    repair = read((examples / "heron.toml").read_text("utf-8"))
    assert asking.ask(quiet.answer, repair) == quiet.answer(repair)


def test_a_room_that_fails_fails_where_it_was_asked(asking: Asking) -> None:
    with pytest.raises(ValueError, match="no answer"):
        asking.ask(refused)
    assert asking.ask(where)[0] != os.getpid()


def test_a_process_that_ends_is_replaced_and_the_question_answered(
    asking: Asking,
) -> None:
    assert asking.ask(ended, os.getpid()) == os.getpid()
    assert asking.ask(where)[0] != os.getpid()


def test_without_processes_the_caller_answers() -> None:
    assert Asking(0).ask(where)[0] == os.getpid()


def test_after_its_end_the_caller_answers() -> None:
    made = Asking(1)
    made.start()
    made.ask(where)
    made.close()
    assert made.ask(where)[0] == os.getpid()


def test_none_is_started_after_the_end_for_a_question_that_was_being_answered() -> None:
    made = Asking(1)
    made.start()
    made.ask(where)
    with ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(made.ask, long_enough, os.getpid())
        while made._idle:
            time.sleep(0.01)
        made.close()
        assert waiting.result() == os.getpid()
    assert made._all == []


def long_enough(tests: int) -> int:
    """Take long, but in the process of the tests."""
    if os.getpid() != tests:
        time.sleep(60.0)
    return os.getpid()
