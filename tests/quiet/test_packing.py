"""Layouts on sheets, checked by shapely and against known packings."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box as rectangle

from panelwright.quiet.packing import Layout, Piece, Sheet, fits, layout

SHEET = Sheet(500.0, 200.0)
side = st.integers(10, 520)


def piece(name: str, width: float, height: float) -> Piece:
    return Piece(name, width, height, width * height)


def is_feasible(pieces: list[Piece], sheet: Sheet, found: Layout) -> bool:
    """Every piece once, inside its sheet, and no two over each other."""
    sizes = {one.name: (one.width_mm, one.height_mm) for one in pieces}
    laid = []
    for put in found.puts:
        w, h = sizes[put.name][::-1] if put.turned else sizes[put.name]
        laid.append((put.sheet, rectangle(put.x_mm, put.y_mm, put.x_mm + w, put.y_mm + h)))
    whole = rectangle(0, 0, sheet.width_mm, sheet.height_mm)
    inside = all(whole.buffer(1e-5).contains(shape) for _, shape in laid)
    apart = all(
        a[0] != b[0] or a[1].intersection(b[1]).area < 1e-3
        for a, b in itertools.combinations(laid, 2)
    )
    names = sorted([put.name for put in found.puts] + list(found.too_large))
    return inside and apart and names == sorted(sizes)


@pytest.mark.second_route
@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(side, side), min_size=1, max_size=14))
def test_every_layout_fits_its_sheets(sizes: list[tuple[int, int]]) -> None:
    pieces = [piece(f"p{k}", w, h) for k, (w, h) in enumerate(sizes)]
    found = layout(pieces, SHEET)
    assert is_feasible(pieces, SHEET, found)
    assert found.at_least <= found.sheets <= len(found.puts)
    assert {put.sheet for put in found.puts} == set(range(found.sheets))
    assert found.too_large == tuple(one.name for one in pieces if not fits(one, SHEET))


@pytest.mark.exact
@pytest.mark.parametrize(
    ("sizes", "sheets"),
    [
        ([(500, 200)], 1),
        ([(200, 500)], 1),
        ([(250, 100)] * 4, 1),
        ([(250, 100)] * 5, 2),
        ([(300, 200), (200, 200)] * 3, 3),
        ([(251, 101)] * 2, 2),  # half the area of one sheet, and yet two never share one
        ([(100, 200)] * 10, 2),
        ([(310, 180), (180, 160)], 1),
    ],
)
def test_known_packings_use_the_fewest_sheets(sizes: list[tuple[int, int]], sheets: int) -> None:
    found = layout([piece(f"p{k}", w, h) for k, (w, h) in enumerate(sizes)], SHEET)
    assert found.sheets == sheets


@pytest.mark.invariant
def test_the_same_pieces_give_the_same_layout() -> None:
    pieces = [piece(f"p{k}", 60 + 17 * k % 90, 40 + 31 * k % 80) for k in range(12)]
    assert layout(pieces, SHEET) == layout(pieces, SHEET)


@pytest.mark.exact
def test_a_piece_for_no_sheet_is_named_and_the_rest_is_laid() -> None:
    found = layout([piece("long", 600, 50), piece("small", 100, 50)], SHEET)
    assert found.too_large == ("long",)
    assert [put.name for put in found.puts] == ["small"]
    assert found.sheets == 1


@pytest.mark.exact
def test_rounded_inches_still_fill_a_sheet() -> None:
    found = layout([piece("a", 0.1 + 0.2, 0.3)], Sheet(0.3, 0.3))
    assert found.sheets == 1
