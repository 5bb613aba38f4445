from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from tests.facts.strategies import facts

from panelwright.errors import InvalidFile
from panelwright.facts.entry import (
    BEFORE_THE_FIRST,
    Entry,
    Fact,
    entry_after,
    entry_bytes,
    entry_from,
    hash_of,
)
from panelwright.facts.identity import uuid7
from panelwright.facts.log import Log, log_bytes, log_from, verify

MOMENT = datetime(2026, 11, 20, 8, 10, tzinfo=timezone(timedelta(hours=1)))


def fact(number: int = 0, **changed: object) -> Fact:
    told: dict[str, object] = {
        "id": uuid7(MOMENT, number.to_bytes(10)),
        "kind": "conditions",
        "body": {"air": "19 °C"},
        "observed_at": MOMENT,
        "clock_offset_s": 1.5,
        "recorded_at": MOMENT,
        "person": "Kim",
    }
    return Fact.model_validate(told | changed)


def fact_number(number: int) -> Fact:
    return fact(number << 6, body={"humidity": number})


THREE = Log().extend([fact_number(1), fact_number(2), fact_number(3)])


@pytest.mark.exact
def test_the_hash_is_sha_256_over_the_written_text() -> None:
    text = (
        '{"fact":{"body":{"air":"19 °C"},"clock_offset_s":1.5,'
        f'"id":"{fact().id}","kind":"conditions",'
        '"observed_at":"2026-11-20T08:10:00+01:00","person":"Kim",'
        '"recorded_at":"2026-11-20T08:10:00+01:00","version":1},'
        f'"previous":"{"0" * 64}"}}'
    )
    assert hash_of(fact(), BEFORE_THE_FIRST) == hashlib.sha256(text.encode()).hexdigest()


@pytest.mark.exact
def test_appending_gives_another_log_and_leaves_the_first() -> None:
    empty = Log()
    one = empty.append(fact())
    assert empty.entries == ()
    assert empty.head == BEFORE_THE_FIRST
    assert one.facts == (fact(),)
    assert one.head == one.entries[0].hash
    assert verify(one) == ()


@pytest.mark.exact
def test_each_entry_holds_the_hash_of_the_one_before() -> None:
    first, second, third = THREE.entries
    assert first.previous == BEFORE_THE_FIRST
    assert second.previous == first.hash
    assert third.previous == second.hash == THREE.entries[1].hash


@pytest.mark.exact
def test_a_fact_that_is_there_adds_nothing_whoever_says_it_again() -> None:
    log = Log().append(fact())
    assert log.append(fact()) is log
    assert log.append(fact(person="Ada")) is log
    assert log.extend([fact(1 << 6), fact(1 << 6)]).facts == (fact(), fact(1 << 6))


@pytest.mark.exact
def test_an_id_cannot_stand_for_two_facts() -> None:
    with pytest.raises(InvalidFile, match="stands for another fact"):
        Log().append(fact()).append(fact(body={"air": "20 °C"}))


@pytest.mark.exact
def test_the_broken_entry_is_named() -> None:
    first, second, third = THREE.entries
    forged = Entry(fact(2 << 6, body={"humidity": 99}), second.previous, second.hash)
    broken = verify(Log((first, forged, third)))
    assert [(one.number, one.id) for one in broken] == [(1, second.fact.id)]
    assert broken[0].what == "its fact is not the one that was hashed"


@pytest.mark.exact
def test_a_forged_entry_with_its_own_hash_breaks_the_next() -> None:
    first, second, third = THREE.entries
    forged = entry_after(first.hash, fact(2 << 6, body={"humidity": 99}))
    assert [(one.number, one.what) for one in verify(Log((first, forged, third)))] == [
        (2, "it does not follow the entry before it")
    ]
    assert second.hash != forged.hash


@pytest.mark.exact
@pytest.mark.parametrize(
    ("order", "numbers"),
    [((0, 2), [1]), ((1, 2), [0]), ((0, 2, 1), [1, 2]), ((0, 0), [1, 1])],
    ids=["one left out", "first left out", "two exchanged", "one twice"],
)
def test_entries_left_out_exchanged_or_doubled_are_found(
    order: tuple[int, ...], numbers: list[int]
) -> None:
    log = Log(tuple(THREE.entries[place] for place in order))
    assert [one.number for one in verify(log)] == numbers


@pytest.mark.exact
def test_a_cut_off_end_shows_by_the_head_alone() -> None:
    shorter = Log(THREE.entries[:2])
    assert verify(shorter) == ()
    assert shorter.head != THREE.head


@pytest.mark.invariant
@given(st.lists(facts(), max_size=5, unique_by=lambda one: one.id))
def test_a_log_comes_back_from_its_bytes(told: list[Fact]) -> None:
    log = Log().extend(told)
    data = log_bytes(log)
    back = log_from(data)
    assert back == log
    assert log_bytes(back) == data
    assert back.facts == tuple(told)


@pytest.mark.invariant
@given(
    st.lists(facts(), min_size=1, max_size=3, unique_by=lambda one: one.id),
    st.data(),
)
def test_any_single_changed_byte_is_found(told: list[Fact], data: st.DataObject) -> None:
    written = bytearray(log_bytes(Log().extend(told)))
    place = data.draw(st.integers(0, len(written) - 1))
    written[place] ^= data.draw(st.integers(1, 255))
    with pytest.raises(InvalidFile):
        log_from(bytes(written))


@pytest.mark.exact
def test_every_flipped_bit_of_an_entry_is_found() -> None:
    written = log_bytes(Log().append(fact()))
    missed = []
    for place in range(len(written)):
        for bit in range(8):
            changed = bytearray(written)
            changed[place] ^= 1 << bit
            try:
                log_from(bytes(changed))
            except InvalidFile:
                continue
            missed.append((place, bit))
    assert missed == []


@pytest.mark.invariant
@given(st.binary(max_size=200))
def test_bytes_that_are_no_log_are_refused_in_words(data: bytes) -> None:
    try:
        assert log_from(data) == Log()
        assert data == b""
    except InvalidFile as refused:
        assert all(where and what for where, what in refused.problems)  # noqa: PT017


@pytest.mark.exact
@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"person"', b' "person"'),
        (b"1.5", b"1.50"),
        (b"+01:00", b"+0100"),
        (b'"Kim"', b'"\\u004bim"'),
        (b'"hash"', b'"more":1,"hash"'),
        (b'"version":1', b'"version":1.0'),
    ],
)
def test_other_ways_to_write_the_same_are_changes_too(old: bytes, new: bytes) -> None:
    data = entry_bytes(Log().append(fact()).entries[0])
    assert old in data
    with pytest.raises(InvalidFile, match=r"no entry of a log|changed since"):
        entry_from(data.replace(old, new))


@pytest.mark.exact
@pytest.mark.parametrize(
    "data",
    [b"[]", b"{}", b"\xff", b"[" * 100_000, b'{"fact":[],"previous":"","hash":""}', b"1e999"],
    ids=lambda data: data[:12].decode("ascii", "replace"),
)
def test_other_json_is_no_entry(data: bytes) -> None:
    with pytest.raises(InvalidFile, match="no entry of a log"):
        entry_from(data)


@pytest.mark.exact
def test_an_unfinished_last_line_is_told() -> None:
    with pytest.raises(InvalidFile, match="cut short"):
        log_from(log_bytes(THREE)[:-1])


@pytest.mark.exact
@pytest.mark.parametrize(
    "changed",
    [
        {"id": UUID("919108f7-52d1-4320-9bac-f847db4148a8")},
        {"kind": "Part"},
        {"kind": ""},
        {"version": 0},
        {"version": True},
        {"person": ""},
        {"observed_at": datetime(2026, 11, 20)},  # noqa: DTZ001 - that is the point
        {"recorded_at": datetime(2026, 11, 20, tzinfo=timezone(timedelta(seconds=30)))},
        {"clock_offset_s": float("nan")},
        {"clock_offset_s": 1e9},
        {"body": [1]},
        {"body": {"a": float("inf")}},
        {"body": {"a": 2**60}},
        {"body": {"a": "\ud800"}},
        {"mood": "good"},
    ],
    ids=repr,
)
def test_what_is_not_well_formed_is_no_fact(changed: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        fact(**changed)


@pytest.mark.exact
def test_nobody_can_change_a_fact() -> None:
    told = fact(body={"a": [1, {"b": 2}]})
    with pytest.raises(ValidationError, match="frozen"):
        told.kind = "part"  # type: ignore[misc]
    with pytest.raises(TypeError, match="item assignment"):
        told.body["a"] = 2  # type: ignore[index]
    with pytest.raises(AttributeError, match="cannot assign"):
        replace(THREE.entries[0]).hash = ""  # type: ignore[misc]


@pytest.mark.exact
def test_a_fast_clock_is_set_back() -> None:
    told = fact(observed_at=datetime(1970, 1, 1, 0, 1, tzinfo=UTC), clock_offset_s=20.0)
    assert told.happened_s == 40.0
