"""Sources, marks and shares travel with a result."""

from __future__ import annotations

import math

import pytest

from panelwright.sources import (
    Basis,
    Figure,
    Mark,
    Share,
    Source,
    largest,
    marks,
    merge,
    standard_uncertainty,
)

SHEET = Source(Basis.DATA_SHEET, "adhesive sheet, work time")
BOOK = Source(Basis.STANDARD, "EN 1999-1-4, 8.2", Mark.MEMORY)
HABIT = Source(Basis.PRACTICE, "seated contact")
OURS = Source(Basis.PROPOSAL, "one for one beside the old")


def test_merging_keeps_every_source_once_in_order() -> None:
    assert merge((SHEET, BOOK), (BOOK, HABIT)) == (SHEET, BOOK, HABIT)


def test_marks_travel_with_whatever_is_derived() -> None:
    derived = Figure(1.0, "mm", merge((SHEET,), (BOOK,), (OURS,), (HABIT,)))
    assert derived.marks == ("from memory", "proposal", "common practice, no source")


def test_a_seen_data_sheet_carries_no_mark() -> None:
    assert marks([SHEET, Source(Basis.STANDARD, "x", Mark.SEEN)]) == ()


def test_a_source_says_how_it_was_read() -> None:
    assert str(BOOK) == "standard: EN 1999-1-4, 8.2 [from memory]"


@pytest.mark.published
def test_gum_end_gauge_uncertainty_and_its_largest_contributors() -> None:
    # GUM (JCGM 100:2008) H.1: contributions 25, 9.68, 2.89, 16.60 nm give 31.66 nm, printed 32 nm.
    # Inputs and result seen (worked example files of a public GUM library); 31.66 computed.
    shares = [
        Share("standard", 25.0**2),
        Share("comparator", 9.68**2),
        Share("temperature of the bed", 2.89**2),
        Share("difference in temperature", 16.60**2),
    ]
    assert standard_uncertainty(shares) == pytest.approx(31.66, abs=0.01)
    ranked = largest(shares, 2)
    assert [name for name, _ in ranked] == ["standard", "difference in temperature"]
    assert ranked[0][1] == pytest.approx(625 / 31.66**2, rel=1e-3)


@pytest.mark.exact
def test_shares_of_one_name_are_added_up() -> None:
    shares = [Share("tape", 1.0), Share("scale", 1.5), Share("tape", 1.0)]
    assert largest(shares) == (
        ("tape", pytest.approx(2 / 3.5)),
        ("scale", pytest.approx(1.5 / 3.5)),
    )
    assert standard_uncertainty(shares) == pytest.approx(math.sqrt(3.5))


def test_without_spread_nothing_contributes() -> None:
    assert largest([Share("tape", 0.0)]) == ()
