"""The repair file is read key by key, and all its problems are listed at once."""

from __future__ import annotations

import pytest

from panelwright.errors import InvalidFile
from panelwright.facts.file import parse, problems_of, read
from panelwright.facts.problem import Question
from panelwright.facts.schema import schema


def problems(text: str) -> dict[str, str]:
    return {problem.where: problem.what for problem in problems_of(text)}


def blocked(text: str) -> set[Question]:
    return {question for problem in read(text).problems for question in problem.blocks}


def test_a_repair_with_one_part_is_valid() -> None:
    assert problems('[repair]\nname = "van-1"\n[[part]]\nid = "outer"\n') == {}


def test_even_an_empty_file_is_valid() -> None:
    assert problems("") == {}


def test_what_is_not_toml_is_said_with_its_line() -> None:
    assert "line 2" in problems("format = 1\n[part\n")["file"]


def test_all_problems_are_listed_at_once() -> None:
    found = problems(
        """
        [[part]]
        id = "a"
        thickness = "1.0"
        colour = "red"
        [[reading]]
        from = "A"
        to = "B"
        value = nan
        [[reading]]
        length = 3
        [[point]]
        id = "p"
        u = ["free", 0, "some"]
        xyz = [1, 2]
        """
    )
    assert set(found) == {
        "part[0].thickness",
        "part[0].colour",
        "reading[0].value",
        "reading[1]",
        "point[0].u[2]",
        "point[0].xyz[2]",
    }
    assert "unit" in found["part[0].thickness"]
    assert "no such key" in found["part[0].colour"]
    assert "finite" in found["reading[0].value"]
    assert "from, to and value" in found["reading[1]"]


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ('[[part]]\nid="a"\nhides=["a"]', "part[0].hides", "cannot hide itself"),
        ('[[part]]\nid="a"\nhides=["b"]', "part[0].hides", "'b' is no part"),
        ('[[part]]\nid="a"\n[[part]]\nid="a"', "part[1].id", "used twice"),
        ('[[part]]\nid="body"', "part[0].id", "the body itself"),
        (
            '[[part]]\nid="a"\nhides=["b"]\n[[part]]\nid="b"\nhides=["a"]',
            "part.hides",
            "a hides b hides a",
        ),
        ('[[joint]]\nid="j"\nlayers=["x"]', "joint[0].layers", "'x' is no part"),
        ('[[point]]\nid="p"\ntwin="p"', "point[0].twin", "its own opposite number"),
        ('[[point]]\nid="p"\nhome="twin"', "point[0].home", "no twin is named"),
        ('[[point]]\nid="p"\nhome="xyz"', "point[0].home", "no xyz is given"),
        ('[[reading]]\nfrom="A"\nto="B"\nvalue=5', "reading[0].from", "'A' is no point"),
        (
            '[[point]]\nid="A"\n[[point]]\nid="B"\n[[reading]]\nfrom="A"\nto="B"\nvalue=0',
            "reading[0].value",
            "more than zero",
        ),
        (
            '[[point]]\nid="A"\n[[reading]]\nfrom="A"\nto="A"\nvalue=5',
            "reading[0]",
            "needs two points",
        ),
        ('[[temperature]]\njoint="j"\nminute=1\nvalue=20', "temperature[0].joint", "'j' is no j"),
        ('[shop]\nshift=["12:00-08:00"]', "shop.shift[0]", "ends before it starts"),
        ('[shop]\nshift=["8 to 12"]', "shop.shift[0]", "no stretch of hours"),
        ("[shop]\nshift=[]", "shop.shift", "no working hours"),
        ('[shop]\nzone="Mars/North"', "shop.zone", "no time zone"),
        ('[[step]]\nid="s"\nafter=["s"]', "step[0].after", "cannot come after itself"),
        ('[[event]]\nkind="moved"', "event[0]", "names its part"),
        ("[repair]\nopened=2026-11-20T08:00:00", "repair.opened", "no offset from UTC"),
        ('[repair]\nname="a b"', "repair.name", '"a b"'),
        ('[[part]]\nid="a"\nthickness="-1 mm"', "part[0].thickness", "not more than zero"),
        ('[[part]]\nid="a"\nstate="gone"', "part[0].state", '"gone"'),
        (
            '[[part]]\nid="a"\n[[contact]]\nid="c"\npart="a"\nxyz=[0,0,0]\nnormal=[0,0,0]',
            "contact[0].normal",
            "no direction",
        ),
    ],
)
def test_a_problem_names_place_value_and_expectation(text: str, where: str, words: str) -> None:
    found = problems(text)
    assert where in found
    assert words in found[where]


def test_a_bad_reading_stands_in_the_way_of_the_fit_alone() -> None:
    assert blocked('[[reading]]\nfrom="A"\nto="B"\nvalue=5') == {Question.FIT}


def test_a_part_hidden_by_itself_stands_in_the_way_of_teardown_and_plan_alone() -> None:
    text = '[[part]]\nid="a"\nhides=["a"]'
    assert blocked(text) == {Question.TEARDOWN, Question.PLAN}


def test_a_reading_of_zero_stands_in_nobodys_way() -> None:
    text = '[[point]]\nid="A"\n[[point]]\nid="B"\n[[reading]]\nfrom="A"\nto="B"\nvalue=0'
    assert blocked(text) == set()


def test_a_bare_number_is_read_in_the_unit_of_its_key() -> None:
    document = parse('[[part]]\nid="a"\nthickness=1.5\narea=2\n[conditions]\nair=19')
    assert document.part[0].thickness is not None
    assert document.part[0].thickness.mm == 1.5
    assert document.part[0].area is not None
    assert document.part[0].area.m2 == 2
    assert document.conditions.air is not None
    assert document.conditions.air.celsius == 19


def test_a_direction_is_taken_as_a_unit_vector() -> None:
    document = parse('[[contact]]\nid="c"\npart="a"\nxyz=[0,0,0]\nnormal=[0,-2,0]')
    assert document.contact[0].normal == (0, -1, 0)


def test_a_finding_gives_the_part_its_new_state() -> None:
    text = """
    [[part]]
    id = "wheelhouse"
    state = "inspect"
    [[finding]]
    part = "wheelhouse"
    what = "folded behind the outer"
    state = "replace"
    """
    assert read(text).part_by_id["wheelhouse"].state == "replace"


def test_a_file_nested_too_deep_is_refused_in_words() -> None:
    with pytest.raises(InvalidFile, match=r"nested|not TOML"):
        parse("a = " + "[" * 3000 + "]" * 3000)


def test_the_schema_names_every_table_of_the_file() -> None:
    whole = schema()
    properties = whole["properties"]
    assert isinstance(properties, dict)
    assert {"part", "joint", "point", "reading", "station", "adhesive", "pad"} <= set(properties)
    assert whole["additionalProperties"] is False
