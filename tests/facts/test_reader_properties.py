"""Whatever is put before the reader, it gives a repair or says what is wrong, and where."""

from __future__ import annotations

import re
from copy import deepcopy

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from tests.facts.strategies import FILE, documents, json_values, names, texts

from panelwright.errors import InvalidFile
from panelwright.facts.document import facts_of_text
from panelwright.facts.file import DEEPEST, problems_of, read
from panelwright.facts.fold import fold
from panelwright.facts.kinds import kinds
from panelwright.facts.log import Log
from panelwright.facts.repair import Repair
from panelwright.facts.toml_text import toml_text

# what a library or the interpreter says of itself, and nobody who wrote a file understands
FOREIGN = re.compile(
    r"input_value|function-|Traceback|pydantic|ValidationError|datetime\.|sys\.|codec|recursion"
    r"|AxisTolerance|Reading\b|_after\b"
)


def said_of(text: str) -> Repair | tuple[tuple[str, str], ...]:
    try:
        return read(text)
    except InvalidFile as refused:
        return refused.problems


def read_or_told(text: str) -> None:
    """Check what holds for every text."""
    said = said_of(text)
    told = tuple((one.where, one.what) for one in problems_of(text))
    if isinstance(said, Repair):
        assert told == tuple((one.where, one.what) for one in said.problems)
        kept = fold(Log().extend(facts_of_text(text, person="Kim")))
        # in a log the number 0.0 is 0, so the words may differ there
        assert [one.where for one in kept.problems] == [one.where for one in said.problems]
        return
    assert said
    assert told == said
    for where, what in said:
        assert where
        assert what
        assert not FOREIGN.search(what), what
        assert not FOREIGN.search(where), where


@pytest.mark.invariant
@given(st.text(max_size=200))
@example("\ufeff[repair]\n")
@example("[repair]\nnote = '\ud800'\n")
@example("\x00")
def test_any_text_is_read_or_told(text: str) -> None:
    read_or_told(text)


@pytest.mark.invariant
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_told(data: bytes) -> None:
    read_or_told(data.decode("latin-1"))
    read_or_told(data.decode("utf-8", "surrogateescape"))


SIGNS = ("[", "]", "[[", "]]", "{", "}", "=", ".", ",", '"', "'", '"""', "\n", " ", "#", "-")
VALUES = ("inf", "nan", "1", "0x", "F" * 5000, "9" * 5000, "1e999", "true", "2026-11-20", "T07:30")
KEYS = ("part", "reading", "point", "id", "from", "to", "value", "u", "opened", "repair")
TOML_WORDS = st.lists(st.sampled_from((*SIGNS, *VALUES, *KEYS)), max_size=30)


@pytest.mark.invariant
@given(TOML_WORDS.map("".join))
@example("[conditions]\nhumidity = 0x" + "F" * 5000)
@example("[conditions]\nhumidity = " + "9" * 5000)
@example("[[adhesive]]\nid = 'a'\non_hand = 0x" + "F" * 5000)
def test_any_heap_of_toml_signs_is_read_or_told(text: str) -> None:
    read_or_told(text)


@st.composite
def damaged_files(draw: st.DrawFn) -> str:
    """A good file with a few stretches cut out, doubled or overwritten."""
    text = FILE
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 12)))
        put = draw(st.one_of(st.just(""), st.just(text[start:end] * 2), st.text(max_size=4)))
        text = text[:start] + put + text[end:]
    return text


@pytest.mark.invariant
@given(damaged_files())
def test_any_damaged_file_is_read_or_told(text: str) -> None:
    read_or_told(text)


LINES = FILE.splitlines(keepends=True)


@pytest.mark.invariant
@given(st.permutations(LINES))
def test_a_file_with_its_lines_shuffled_is_read_or_told(lines: list[str]) -> None:
    read_or_told("".join(lines))


odd_values = st.one_of(
    json_values.filter(lambda value: "None" not in repr(value)),  # TOML has no null
    st.sampled_from(["12", "1,834 mm", "12 kg", "-5 mm", "1'234", "free", "tight", "", "0 mm"]),
    st.sampled_from([float("nan"), float("inf"), 2**60, -1, 0, True, [], {}, [[]], [{}]]),
    st.datetimes(),
    st.dates(),
    st.times(),
)


def places(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every place in a nest of tables and lists but the outermost."""
    items: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        items = list(value.items())
    elif isinstance(value, list):
        items = list(enumerate(value))
    return [one for key, item in items for one in [(*path, key), *places(item, (*path, key))]]


@st.composite
def odd_documents(draw: st.DrawFn) -> dict[str, object]:
    """A good document with a few values of another kind, keys of another name, keys more."""
    data = deepcopy(draw(documents()))
    for _ in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(places(data) or [("format",)]))
        holder: object = data
        for key in path[:-1]:
            holder = holder[key]  # type: ignore[index]
        key = path[-1]
        what = draw(st.sampled_from(["another value", "left out", "another name", "one more"]))
        if what == "another value" or isinstance(key, int):
            holder[key] = draw(odd_values)  # type: ignore[index]
        elif what == "left out":
            holder.pop(key, None)  # type: ignore[attr-defined]
        elif what == "another name":
            holder[draw(texts)] = holder.pop(key, 1)  # type: ignore[index, attr-defined]
        else:
            holder[draw(st.one_of(texts, names))] = draw(odd_values)  # type: ignore[index]
    return data


@pytest.mark.invariant
@given(odd_documents())
def test_any_document_with_wrong_values_is_read_or_told(data: dict[str, object]) -> None:
    read_or_told(toml_text(data))


@pytest.mark.invariant
@given(st.dictionaries(st.sampled_from([*kinds(), "format"]), odd_values, max_size=4))
def test_any_values_under_known_names_are_read_or_told(data: dict[str, object]) -> None:
    read_or_told(toml_text(data))


@pytest.mark.invariant
@given(documents())
def test_any_document_of_valid_tables_is_read(data: dict[str, object]) -> None:
    assert isinstance(said_of(toml_text(data)), Repair)
    read_or_told(toml_text(data))


NESTS = {"list": ("[", "]"), "table": ("{a=", "}"), "both": ("[{a=", "}]")}


@pytest.mark.exact
@pytest.mark.parametrize("depth", [DEEPEST, DEEPEST + 1, 300, 2_000, 50_000])
@pytest.mark.parametrize("nest", NESTS.values(), ids=NESTS)
def test_deep_nests_are_told_and_not_run_into(nest: tuple[str, str], depth: int) -> None:
    opening, closing = nest
    read_or_told("part = " + opening * depth + "1" + closing * depth)


@pytest.mark.exact
@pytest.mark.parametrize("part", ["a.", '"a" . ', "'a'\t.", "1."])
@pytest.mark.parametrize("around", ["{}b = 1", "[{}b]", "[[{}b]]", "part = [{{ {}b = 1 }}]"])
def test_keys_of_many_parts_are_told_at_once(part: str, around: str) -> None:
    said = said_of(around.format(part * 100_000))
    assert said == (("file", "a key has more than 40 parts between dots"),)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ("[conditions]\nhumidity = 0x" + "F" * 5000, "conditions.humidity", "beyond 90071"),
        ("[conditions]\nhumidity = " + "9" * 5000, "file", "a number has thousands of digits"),
        ("[repair]\nnote = '\ud800'", "file", "letter 18 is half of one"),
        ("[repair]\nopened = 0001-01-01T00:00:00+14:00", "repair.opened", "from 1971 to 2200"),
        ("[repair]\nopened = 2026-11-20T08:00:00", "repair.opened", "no offset from UTC"),
        ("[repair]\nopened = '2026-11-20T08:00:00+00:00:30'", "repair.opened", "whole minutes"),
        ("[repair]\nopened = 07:30:00", "repair.opened", "07:30:00: input should be"),
        (
            "[[point]]\nid = 'a'\ntolerance = '12'",
            "point[0].tolerance",
            "the unit of 12 is missing",
        ),
        (
            "[[contact]]\nid='c'\npart='p'\nxyz=[1,2,3]\nnormal=[1e308,1e308,1e308]",
            "contact[0].normal",
            "has no direction",
        ),
        ("a = " + "[" * 50_000, "file", "nested too deep"),
        ("[[part]]\nid = " + "[" * 60 + "]" * 60, "part[0].id" + "[0]" * 38, "more than 40 deep"),
        ("x" * 20_000_001, "file", "larger than 20 MB"),
        ("part = 'x'", "part", "expected a list"),
        ("[[part]]\nid = true", "part[0].id", "true: expected text"),
    ],
    ids=lambda value: str(value)[:24],
)
def test_what_was_found_this_way_stays_mended(text: str, where: str, what: str) -> None:
    said = said_of(text)
    assert not isinstance(said, Repair)
    assert said[0][0] == where
    assert what in said[0][1]


@pytest.mark.exact
def test_text_with_many_dots_is_no_long_key() -> None:
    note = "Off. On. " * 10 + "." * 500 + " 1.2.3.4 " * 100
    assert isinstance(said_of(f'[repair]\nnote = "{note}"\n'), Repair)


@pytest.mark.exact
def test_a_mark_that_editors_put_first_is_passed_over() -> None:
    assert isinstance(said_of("\ufeff[repair]\nname = 'heron-114'\n"), Repair)


@pytest.mark.exact
def test_a_wrong_value_is_shown_as_it_stands_in_the_file() -> None:
    said = said_of('[roof]\nopened = 2026-11-20T08:10:00+01:00\nat = ["a", true, 1.5]\n')
    assert not isinstance(said, Repair)
    ((where, what),) = said
    assert where == "roof"
    assert what.startswith('{ opened = 2026-11-20T08:10:00+01:00, at = ["a", true, 1....: no such')
