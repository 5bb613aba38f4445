"""Small words of the pages: times, numbers, sources."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.quantities import Units
from panelwright.record.figures import percent, signed
from panelwright.record.job import inside, runs
from panelwright.record.notes import (
    letters,
    read_sources,
    references,
    shortened,
    usual,
    worded,
)
from panelwright.record.pages.open_points import amount
from panelwright.record.when import When
from panelwright.sources import Basis, Mark, Source

MOMENT = datetime(2026, 11, 20, 12, 5, tzinfo=UTC)


def test_times_are_the_shops_own():
    when = When.of("Europe/Berlin")
    assert when.stamp(MOMENT) == "Fri 20 Nov 13:05"
    assert when.full(MOMENT) == "Fri 20 Nov 2026, 13:05 CET"


def test_an_unknown_zone_is_said_as_utc():
    assert When.of("Moon/Tranquility").full(MOMENT) == "Fri 20 Nov 2026, 12:05 UTC"


def test_a_span_says_its_day_once():
    when = When.of("UTC")
    later = MOMENT.replace(hour=13)
    assert when.span(MOMENT, later) == "Fri 20 Nov 12:05–13:05"
    assert when.span(MOMENT, later.replace(day=21)) == "Fri 20 Nov 12:05 – Sat 21 Nov 13:05"


@pytest.mark.parametrize(
    ("numbers", "words"),
    [((), ""), ((3,), "3"), ((1, 2), "1, 2"), ((1, 2, 3, 7), "1–3, 7"), ((5, 5, 6, 7), "5–7")],
)
def test_runs_of_numbers_are_drawn_together(numbers, words):
    assert runs(numbers) == words


@pytest.mark.invariant
@given(st.sets(st.integers(1, 200), min_size=1))
def test_references_name_every_number_once(numbers):
    named: list[int] = []
    for reference in references(numbers):
        low, _, high = reference.label.partition("–")
        named += range(int(low), int(high or low) + 1)
        assert reference.first == int(low)
    assert named == sorted(numbers)


def test_three_neighbours_and_more_are_one_link():
    assert [link.label for link in references([7, 1, 2, 3, 9, 10])] == ["1–3", "7", "9", "10"]


def test_many_links_are_shortened_and_say_so():
    links = shortened(references(range(1, 40, 2)))
    assert [link.label for link in links] == ["1", "3", "5", "7", "…"]
    assert links[-1].first == 9


def test_a_source_that_most_lines_share_is_the_usual_one():
    one, two = (Source(Basis.SHOP, name) for name in ("a", "b"))
    assert usual([(one,), (one,), (two,), ()]) == (one,)
    assert usual([(one,), (two,), (), ()]) == ()
    assert usual([]) == ()


@pytest.mark.invariant
@pytest.mark.parametrize("basis", list(Basis))
@pytest.mark.parametrize("mark", list(Mark))
def test_a_source_that_was_said_can_be_read_back(basis, mark):
    one = Source(basis, "EN 1999-1-4:2007, 8.2 [table]; class L", mark)
    two = Source(Basis.SHOP, "its own rule")
    assert read_sources(str(one)) == ((one,), "")
    assert read_sources(f"{one}; {two}") == ((one, two), "")


def test_words_that_are_no_source_stay_words():
    assert read_sources("never fewer than before") == ((), "never fewer than before")


def test_every_travelling_mark_has_a_letter():
    for basis in Basis:
        for mark in Mark:
            source = Source(basis, "x", mark)
            assert len(letters([source])) == len(source.travelling_marks)


def test_deviations_carry_sign_and_uncertainty():
    assert signed(Units.MM, -3.84, 0.52) == "−3.8 ± 0.5"
    assert signed(Units.MM, -0.01) == "0.0"
    assert signed(Units.MM, None) == "–"
    assert signed(Units.IN, 25.4, 2.54) == "+1.000 ± 0.100"


def test_a_probability_never_claims_certainty():
    assert percent(1.0) == "> 99.9 %"
    assert percent(0.0) == "< 0.1 %"
    assert percent(0.953) == "95.3 %"
    assert percent(None) == "–"


def test_amounts_agree_with_their_unit():
    assert amount(1, "pieces") == "1 piece"
    assert amount(31.0, "pieces") == "31 pieces"
    assert amount(5.6, "m") == "5.6 m"
    assert amount(None, "pieces") == "not recorded"


@pytest.mark.parametrize(
    ("words", "said"), [("Sealer skins over", "sealer skins over"), ("HV off", "HV off"), ("", "")]
)
def test_a_sentence_inside_another_begins_small(words, said):
    assert inside(words) == said


@pytest.mark.parametrize(
    ("text", "worded_so"),
    [
        ("[[rivet]] HR-64-14: HR rivet sheet", "rivet HR-64-14: HR rivet sheet"),
        ("[[adhesive]] HA-20, bond line: HA 20", "adhesive HA-20, bond line: HA 20"),
        (
            "old.strength of joint side-wall seam, as the file gives it",
            "strength of the old fasteners, as the file gives it",
        ),
        ("EN 1999-1-4:2007, 8.2", "EN 1999-1-4:2007, 8.2"),
    ],
)
def test_no_key_of_the_file_stands_among_the_sources(text, worded_so):
    assert worded(Source(Basis.DATA_SHEET, text)).text == worded_so


def test_one_procedure_is_one_source_for_all_its_joints():
    one = worded(Source(Basis.PROCEDURE, "Book 12-3 revision B, joint arch flange"))
    assert one == worded(Source(Basis.PROCEDURE, "Book 12-3 revision B, joint sill"))
    assert one.text == "Book 12-3 revision B"
