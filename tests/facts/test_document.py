from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from tests.facts.strategies import FILE, documents

from panelwright.errors import InvalidFile
from panelwright.facts.canonical import canonical
from panelwright.facts.document import document_of, facts_of, facts_of_text, text_of
from panelwright.facts.file import document_from, parse
from panelwright.facts.fold import fold
from panelwright.facts.identity import moment_of
from panelwright.facts.kinds import body_of, kinds
from panelwright.facts.log import Log, log_bytes, log_from
from panelwright.facts.toml_text import toml_text


def told_alike(one: object, other: object) -> bool:
    """Tell whether two TOML values are the same, kinds of numbers aside (20 is 20.0)."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(told_alike(one[k], other[k]) for k in one)
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(told_alike, one, other))
    booleans = isinstance(one, bool) + isinstance(other, bool)
    return one == other and booleans != 1 and isinstance(one, str) == isinstance(other, str)


@pytest.mark.invariant
def test_a_file_comes_back_from_its_facts_with_every_value_as_typed() -> None:
    folded = fold(Log().extend(facts_of_text(FILE, person="Kim")))
    assert folded.problems == ()
    assert told_alike(tomllib.loads(text_of(folded)), tomllib.loads(FILE))
    assert document_of(folded) == tomllib.loads(FILE)


@pytest.mark.invariant
def test_importing_a_file_twice_adds_nothing() -> None:
    log = Log().extend(facts_of_text(FILE, person="Kim"))
    assert log.extend(facts_of_text(FILE, person="Ada")) is log
    assert log.extend(facts_of_text(text_of(fold(log)), person="Kim")) is log


@pytest.mark.exact
def test_ids_and_times_come_from_what_the_file_says() -> None:
    told = facts_of_text(FILE, person="Kim")
    opened = datetime.fromisoformat("2026-11-20T08:10:00+01:00")
    assert len({one.id for one in told}) == len(told) == 10
    assert {moment_of(one.id) for one in told} == {opened}
    assert {(one.observed_at, one.recorded_at, one.person) for one in told} == {
        (opened, opened, "Kim")
    }
    assert [one.kind for one in told] == [
        *("repair", "procedure", "part", "part", "joint", "point"),
        *("reading", "reading", "reading", "adhesive"),
    ]


@pytest.mark.exact
def test_a_file_that_does_not_say_when_is_of_2000() -> None:
    (told,) = facts_of_text('[[part]]\nid = "outer"\n', person="Kim")
    assert told.observed_at == datetime(2000, 1, 1, tzinfo=UTC) == moment_of(told.id)
    # the id is part of the format: another one would import old files anew
    digits = hashlib.sha256(b'["part",{"id":"outer"},0]').hexdigest()
    bits = f"{int(digits[:20], 16):080b}"
    assert told.id.hex[:12] == f"{946_684_800_000:012x}"
    assert f"{told.id.int & (2**80 - 1):080b}" == f"0111{bits[:12]}10{bits[12:74]}"


@pytest.mark.exact
def test_a_reading_more_adds_one_fact_and_leaves_the_ids_of_the_others() -> None:
    more = FILE + '\n[[reading]]\npoint = "L3"\nheight = "1602 mm"\n'
    log = Log().extend(facts_of_text(FILE, person="Kim"))
    assert len(log.extend(facts_of_text(more, person="Kim")).entries) == len(log.entries) + 1


@pytest.mark.exact
def test_moments_and_days_are_text_in_a_body_and_come_back_as_such() -> None:
    told = facts_of_text(FILE, person="Kim")
    assert told[0].body["opened"] == "2026-11-20T08:10:00+01:00"
    assert told[1].body["read_on"] == "2026-11-20"
    back = document_of(fold(Log().extend(told)))
    reading = back["reading"][0]  # type: ignore[index]
    assert reading["at"] == datetime(2026, 11, 20, 9, 0, 0, 500_000, UTC)
    assert reading["note"] == "2026-11-20"  # a text that looks like a day stays a text
    assert text_of(fold(Log().extend(told))).count("2026-11-20T08:10:00+01:00\n") == 1


@pytest.mark.exact
def test_a_moment_that_was_typed_as_text_in_another_way_stays_that_text() -> None:
    told = facts_of_text('[repair]\nopened = "2026-11-20T07:10:00Z"\n', person="Kim")
    folded = fold(Log().extend(told))
    assert document_of(folded)["repair"] == {"opened": "2026-11-20T07:10:00Z"}
    assert folded.repair.repair.opened == datetime(2026, 11, 20, 7, 10, tzinfo=UTC)


@pytest.mark.exact
def test_what_json_cannot_keep_is_told_with_its_place() -> None:
    with pytest.raises(InvalidFile, match=r"adhesive\[1\].on_hand: a whole number beyond"):
        facts_of_text(
            f'[[adhesive]]\nid = "a"\n[[adhesive]]\nid = "b"\non_hand = {2**60}\n', person="Kim"
        )
    with pytest.raises(InvalidFile, match=r"repair: this cannot be kept: .*non-UTF-8"):
        facts_of({"repair": {"note": "\ud800"}}, person="Kim")


@pytest.mark.exact
def test_what_the_models_refuse_is_refused_here_too() -> None:
    with pytest.raises(InvalidFile, match=r"part\[0\].thickness"):
        facts_of_text('[[part]]\nid = "a"\nthickness = "12"\n', person="Kim")
    with pytest.raises(InvalidFile, match="not TOML"):
        facts_of_text("[[part", person="Kim")


@pytest.mark.exact
def test_text_has_one_key_a_line_and_small_tables_within_one() -> None:
    folded = fold(Log().extend(facts_of_text(FILE, person="Kim")))
    text = text_of(folded)
    assert '\n[[part]]\nid = "outer"\nthickness = "1.0 mm"\n' in text
    assert '\n  { event = "work", at = "23 °C", time = "60 min" },\n' in text
    assert max(map(len, text.splitlines())) <= 120


@pytest.mark.exact
def test_every_table_of_the_file_is_a_kind() -> None:
    single = {name for name, kind in kinds().items() if kind.single}
    assert single == {"repair", "vehicle", "procedure", "conditions", "shop", "symmetry"}
    assert {"part", "joint", "point", "tool", "reading", "finding"} <= kinds().keys() - single
    assert "format" not in kinds()


@pytest.mark.invariant
@given(documents())
def test_any_document_comes_back_from_its_facts(data: dict[str, object]) -> None:
    log = Log().extend(facts_of(data, person="Kim"))
    kept = log_from(log_bytes(log))
    back = document_of(fold(kept))
    assert told_alike(back, data)
    assert told_alike(tomllib.loads(text_of(fold(kept))), data)
    assert document_from(back) == document_from(data)


@pytest.mark.invariant
@given(documents())
def test_importing_any_document_twice_adds_nothing(data: dict[str, object]) -> None:
    log = Log().extend(facts_of(data, person="Kim"))
    assert log.extend(facts_of(data, person="Ada")) is log
    text = text_of(fold(log))
    assert log.extend(facts_of_text(text, person="Ada")) is log


@pytest.mark.invariant
@given(documents())
def test_toml_text_is_read_back_by_the_reader_of_python(data: dict[str, object]) -> None:
    assert tomllib.loads(toml_text(data)) == data
    assert canonical(body_of(tomllib.loads(toml_text(data)))) == canonical(body_of(data))


@pytest.mark.invariant
def test_every_example_comes_back_from_its_facts(examples: Path) -> None:
    files = sorted(examples.glob("*.toml"))
    if not files:
        pytest.skip("no examples in this checkout")
    for path in files:
        text = path.read_text(encoding="utf-8")
        log = Log().extend(facts_of_text(text, person="Kim"))
        written = text_of(fold(log))
        assert told_alike(tomllib.loads(written), {"format": 1, **tomllib.loads(text)}), path.name
        assert parse(written) == parse(text), path.name
        assert log.extend(facts_of_text(text, person="Kim")) is log, path.name
