"""Every table of the package has units, plausible values and a source."""

from __future__ import annotations

from importlib.resources import files

import pytest

from panelwright.errors import TableError
from panelwright.sources import Basis, Mark
from panelwright.tables import load
from panelwright.tables import load as loader
from panelwright.tables.load import Table, _cell, _check_range

NAMES = sorted(
    entry.name.removesuffix(".csv")
    for entry in (files("panelwright.tables") / "data").iterdir()
    if entry.name.endswith(".csv")
)


@pytest.mark.parametrize("name", NAMES)
def test_a_table_loads_with_a_source_that_says_how_it_was_read(name: str) -> None:
    table = load(name)
    assert table.rows
    assert table.source.text
    unsourced = {Basis.PRACTICE, Basis.PROPOSAL, Basis.SHOP}
    if {"source", "mark"} <= set(table.columns):
        assert all(row["source"] for row in table.records())
    else:
        assert table.source.basis in unsourced or table.source.mark is not Mark.NONE


def test_there_are_tables() -> None:
    assert NAMES


def test_a_cell_that_is_no_number_is_refused_with_its_place() -> None:
    with pytest.raises(TableError, match=r"table t, row 1, length: 'x' is not a number in mm"):
        _cell("x", "mm", "table t, row 1, length")


def test_a_value_out_of_its_plausible_range_is_refused() -> None:
    source = loader(NAMES[0]).source
    table = Table("t", ("length",), ("mm",), ((5.0,),), source)
    with pytest.raises(TableError, match="length is 5, expected 0 to 1 mm"):
        _check_range(table, {"length": (0, 1)})
