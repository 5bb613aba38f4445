"""Whatever people do one after the other, the store says what a list of facts would say."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from panelwright.errors import InvalidFile, StoreError, UnknownRepairError
from panelwright.facts.entry import Fact
from panelwright.facts.fold import fold
from panelwright.facts.log import Log
from panelwright.store import Place, Store, open_store
from tests.facts.strategies import facts as any_facts
from tests.store.making import fact, withdrawal

NAMES = st.sampled_from(["heron-114", "heron-115", "copy"])
NUMBERS = st.integers(0, 12)


class People(RuleBasedStateMachine):
    """People at one store; beside it the logs as they must be."""

    make: Callable[[], Place]
    backups: Path

    def __init__(self) -> None:
        super().__init__()
        self.place = type(self).make()
        self.store: Store = open_store(self.place)
        self.logs: dict[str, Log] = {}
        self.seq = 0

    def teardown(self) -> None:
        self.store.close()

    def _grow(self, name: str, log: Log) -> None:
        self.seq += len(log.entries) - len(self.logs.get(name, Log()).entries)
        self.logs[name] = log

    @rule(name=NAMES)
    def start(self, name: str) -> None:
        self.store.start(name, [])
        self.logs.setdefault(name, Log())

    @rule(name=NAMES, numbers=st.lists(NUMBERS, max_size=4))
    def append(self, name: str, numbers: list[int]) -> None:
        self._append(name, [fact(number) for number in numbers])

    @rule(name=NAMES, told=any_facts())
    def append_anything(self, name: str, told: Fact) -> None:
        self._append(name, [told])

    @rule(name=NAMES, number=NUMBERS)
    def say_something_else(self, name: str, number: int) -> None:
        self._append(name, [fact(number, body={"humidity": 99.5})])

    @rule(name=NAMES, number=NUMBERS)
    def withdraw(self, name: str, number: int) -> None:
        self._append(name, [withdrawal(100 + number, of=fact(number))])

    def _append(self, name: str, told: list[Fact]) -> None:
        log = self.logs.get(name)
        if log is None:
            with pytest.raises(UnknownRepairError):
                self.store.append(name, told)
            return
        try:
            expected = log.extend(told)
        except InvalidFile:
            with pytest.raises(InvalidFile, match="stands for another fact"):
                self.store.append(name, told)
            return
        done = self.store.append(name, told)
        assert (done.log_head, done.added) == (
            expected.head,
            len(expected.entries) - len(log.entries),
        )
        self._grow(name, expected)
        assert [expected.entries[n].fact.id for n in done.numbers] == [one.id for one in told]

    @rule(name=NAMES, other=NAMES)
    def export_and_import(self, name: str, other: str) -> None:
        if name not in self.logs:
            return
        file = io.BytesIO()
        self.store.write_bundle(name, file)
        there, coming = self.logs.get(other, Log()), self.logs[name]
        common = min(len(there.entries), len(coming.entries))
        if there.entries[:common] != coming.entries[:common]:
            with pytest.raises(InvalidFile, match="says something else"):
                self.store.import_repair(file, name=other)
            return
        self.store.import_repair(file, name=other)
        self._grow(other, max(there, coming, key=lambda log: len(log.entries)))

    @rule(name=NAMES, other=NAMES)
    def through_a_repair_file(self, name: str, other: str) -> None:
        if name not in self.logs:
            return
        text = self.store.resolve(name).text
        if other in self.logs:
            try:
                assert self.store.import_text(text, person="Ada", name=other).appended.added == 0
            except StoreError as taken:
                assert "already" in str(taken)  # noqa: PT017
            return
        self.store.import_text(text, person="Ada", name=other)
        self._grow(other, self.store.log(other))
        before, after = fold(self.logs[name]).repair, self.store.resolve(other).repair
        assert (after.points, after.readings, after.conditions) == (
            before.points,
            before.readings,
            before.conditions,
        )

    @rule()
    def close_and_open(self) -> None:
        self.store.close()
        self.store = open_store(self.place, make=False)

    @invariant()
    def it_says_what_it_must(self) -> None:
        assert {one.name: one.facts for one in self.store.repairs()} == {
            name: len(log.entries) for name, log in self.logs.items()
        }
        for name, log in self.logs.items():
            assert self.store.log(name) == log
        assert self.store.last_seq() == self.seq == len(self.store.since(0))
        assert self.store.verify().broken == ()


@pytest.mark.invariant
def test_people_at_a_store(kind: str, new_place: Callable[..., Place]) -> None:
    machine = type("People", (People,), {"make": staticmethod(lambda: new_place(kind))})
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        machine,
        settings=settings(
            max_examples=12,
            stateful_step_count=15,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
