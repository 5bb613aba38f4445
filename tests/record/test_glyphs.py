"""What the shipped fonts can show, and what stands for the rest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.record import glyphs
from panelwright.record.typeset import TEMPLATE_FOLDER


@pytest.mark.second_route
def test_code_points_agree_with_fonttools():
    ttlib = pytest.importorskip("fontTools.ttLib")
    fonts = sorted(glyphs.FONT_FOLDER.glob("*.ttf"))
    assert len(fonts) == 4
    for path in fonts:
        with ttlib.TTFont(path) as font:
            known = set(font.getBestCmap())
        assert glyphs.code_points(path.read_bytes()) >= known


@pytest.mark.second_route
def test_no_code_point_is_claimed_that_has_no_glyph():
    ttlib = pytest.importorskip("fontTools.ttLib")
    known: set[int] = set()
    for path in glyphs.FONT_FOLDER.glob("*.ttf"):
        with ttlib.TTFont(path) as font:
            for table in font["cmap"].tables:
                known |= {code for code, name in table.cmap.items() if name != ".notdef"}
    assert glyphs.covered() <= known


def test_fonts_have_their_licence_beside_them():
    text = (glyphs.FONT_FOLDER / "OFL.txt").read_text()
    assert "SIL OPEN FONT LICENSE" in text


def test_trade_signs_are_shown_as_they_are():
    text = "4.8 × 10 mm, ± 0.1, ≥ 1.5 d, −3 °C, 1.1 m², µ, Ω, ½, é, Ł, ß, →"
    assert glyphs.shown(text) == text
    assert glyphs.missing(text) == ()


@pytest.mark.parametrize(
    "character",
    ["\N{GRINNING FACE}", "\N{HEBREW LETTER ALEF}", "漢", "\u202e", "\u2066", "\x07", "\ue000"],
)
def test_what_no_font_shows_becomes_a_box(character):
    assert glyphs.shown(f"a{character}b") == f"a{glyphs.BOX}b"
    assert glyphs.missing(f"a{character}b") == (character,)


def test_the_box_itself_can_be_shown():
    assert glyphs.missing(glyphs.BOX) == ()


@pytest.mark.invariant
@given(st.text())
def test_whatever_is_typed_can_be_shown_afterwards(text):
    assert glyphs.missing(glyphs.shown(text)) == ()


@pytest.mark.invariant
@given(st.text(alphabet=st.characters(codec="ascii", min_codepoint=32, max_codepoint=126)))
def test_breaking_long_words_changes_no_letter(text):
    assert glyphs.breakable(text).replace(glyphs.BREAK, "") == text


def test_no_word_stays_longer_than_a_column():
    pieces = glyphs.breakable("x" * 500 + " short").replace(glyphs.BREAK, " ").split(" ")
    assert max(len(piece) for piece in pieces) <= glyphs.LONGEST_WORD


def test_a_word_of_usual_length_is_kept_whole():
    assert glyphs.breakable("calibrate the recalibrations") == "calibrate the recalibrations"


def test_every_character_of_the_template_is_in_the_fonts():
    for path in TEMPLATE_FOLDER.glob("*.typ"):
        assert glyphs.missing(path.read_text(encoding="utf-8")) == ()
