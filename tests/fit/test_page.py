"""The page says first what to do, and every length in the unit asked for."""

from __future__ import annotations

import re

import numpy as np
import pytest
from tests.fit.build import PANEL, panel, repair

from panelwright.cli.pages.fit import page
from panelwright.fit import answer
from panelwright.fit.answer import Answer
from panelwright.fit.words import displacement_words, moved_place, place_words, unseen_words
from panelwright.quantities import Units


def first_lines(found: Answer) -> str:
    return " ".join(page(found, Units.MM).splitlines()[:6])


def test_a_panel_at_home_is_to_be_pinned() -> None:
    found = answer(repair(**panel()))
    assert "it is where it belongs" in first_lines(found)


def test_a_panel_that_is_off_is_to_be_moved_first() -> None:
    found = answer(repair(**panel((6.0, 0.0, -4.0))))
    text = first_lines(found)
    assert text.startswith("What to do now")
    assert "push the" in text
    assert "6.0 mm forward" in text
    assert "4.0 mm up" in text


def test_a_panel_that_is_not_proven_is_to_be_measured() -> None:
    spans = tuple((a, b) for a in PANEL for b in ("B1", "B2", "B4"))
    found = answer(repair(**panel(tolerance=1, stations=(), spans=spans)))
    assert "not proven yet. Next, " in first_lines(found)


def test_a_misread_gap_is_to_be_rechecked() -> None:
    tables = panel()
    tables["reading"].append({"station": "s1", "gap": 5.0, "flush": 0.0})
    tables["reading"].append({"station": "s1", "gap": 9.0, "flush": 0.0})
    assert "Recheck station s1, gap" in first_lines(answer(repair(**tables)))


def test_what_is_not_checked_is_on_the_page() -> None:
    text = page(answer(repair(**panel(stations=("s1", "s2")))), Units.MM)
    assert "Not checked by these readings:" in text
    assert "these readings do not show whether" in text


def test_in_inches_no_computed_length_is_in_millimetres() -> None:
    found = answer(repair(**panel((6.0, 0.0, -4.0), tolerance=1, stations=("s1", "s3"))))
    text = page(found, Units.IN)
    assert re.search(r"\d in\b", text.split("Where the numbers come from")[1])
    assert not re.search(r"\d mm\b", text)


def test_the_page_ends_with_sources_and_their_marks() -> None:
    text = page(answer(repair(**panel())), Units.MM)
    assert "JCGM 106:2012" in text
    assert "common practice, no source" in text
    assert "overrides none" in text


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((0.0, 0.0, 0.0), "front bottom corner"),
        ((2000.0, 0.0, 1000.0), "rear top corner"),
        ((1000.0, 0.0, 1000.0), "top edge"),
        ((0.0, 0.0, 500.0), "front edge"),
        ((1000.0, 0.0, 500.0), "middle"),
    ],
)
def test_a_place_has_the_trades_name(place: tuple[float, ...], words: str) -> None:
    places = np.array(
        [(x, y, z) for x in (0, 2000) for y in (0, 60) for z in (0, 1000)], dtype=float
    )
    assert place_words(np.array(place), places) == words


def test_a_motion_of_all_places_alike_is_of_the_whole_part() -> None:
    places = np.array(list(PANEL.values()))
    assert moved_place(np.tile([0.0, 1.0, 0.0], (4, 1)), 0, places) == "whole part"


def test_a_displacement_is_said_largest_first() -> None:
    assert (
        displacement_words(np.array([0.4, -3.0, 0.01])) == "3.0 mm to the left and 0.4 mm rearward"
    )


def test_the_reach_of_a_weak_motion_is_at_95_per_cent() -> None:
    words = unseen_words("front edge", np.array([0.0, 0.0, -1.0]), 2.0)
    assert words.startswith("the front edge could sit up to 3.9 mm high or low")


def test_what_is_checked_and_what_each_check_sees_is_on_the_page() -> None:
    text = page(answer(repair(**panel(spans=(("L1", "B1"), ("L3", "B3"))))), Units.MM)
    assert "What each kind of check sees by itself" in text
    assert "error noticed from" in text
    alone = " ".join(page(answer(repair(**panel(stations=("s1",)))), Units.MM).split())
    assert "Nothing checks station s1, gap and station s1, flush" in alone


def test_a_misread_reading_is_asked_for_with_what_the_others_say() -> None:
    tables = panel()
    tables["reading"][0]["gap"] += 10.0
    text = " ".join(page(answer(repair(**tables)), Units.MM).split())
    assert "station s1, gap was read as 15.0 mm; the others say 5." in text
    assert "10 mm too much: a mark misread?" in text
    assert "None of them is left out by itself." in text
