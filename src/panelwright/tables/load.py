"""Read a table of our own: NAME.csv with a units row, NAME.toml with its source."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from panelwright.errors import TableError
from panelwright.sources import Basis, Mark, Source

if TYPE_CHECKING:
    from collections.abc import Mapping

Cell = str | float | None


@dataclass(frozen=True)
class Table:
    """A table with units and source.

    Parameters
    ----------
    name : str
        File name without ending.
    units : tuple of str
        Unit of each column; ``text`` marks a column of words.
    columns : tuple of str
        Names of the columns.
    rows : tuple of tuple
        Cells: str in a text column, float otherwise, None where the cell is empty.
    source : Source
        The table's source with its mark.
    """

    name: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    source: Source

    def records(self) -> tuple[dict[str, Cell], ...]:
        """Each row by column name."""
        return tuple(dict(zip(self.columns, row, strict=True)) for row in self.rows)

    def number(self, row: int, column: str) -> float:
        """One number of the table; a TableError where the cell holds none."""
        cell = self.rows[row][self.columns.index(column)]
        if not isinstance(cell, float):
            raise TableError(
                f"table {self.name}, row {row + 1}: {column} is {cell!r}, not a number"
            )
        return cell


def _cell(text: str, unit: str, where: str) -> Cell:
    if text.strip() == "":
        return None
    if unit == "text":
        return text.strip()
    try:
        return float(text)
    except ValueError as error:
        raise TableError(f"{where}: {text!r} is not a number in {unit}") from error


def _check_range(table: Table, ranges: Mapping[str, Any]) -> None:
    for column, (low, high) in ranges.items():
        place = table.columns.index(column)
        for number, row in enumerate(table.rows, start=1):
            cell = row[place]
            if isinstance(cell, float) and not low <= cell <= high:
                raise TableError(
                    f"table {table.name}, row {number}: {column} is {cell:g}, "
                    f"expected {low:g} to {high:g} {table.units[place]}"
                )


def _source(about: Mapping[str, Any]) -> Source:
    where = ", ".join(str(about[key]) for key in ("source", "edition", "table") if about.get(key))
    return Source(Basis(about["basis"]), where, Mark(about.get("mark", "")))


@cache
def load(name: str) -> Table:
    """Read one table of the package and check it row by row.

    Parameters
    ----------
    name : str
        Name of the pair ``NAME.csv`` and ``NAME.toml`` in ``tables/data``. The CSV's first row
        names the columns, the second their units (``text`` for words). The TOML gives ``basis``,
        ``source``, ``edition``, ``table``, ``read_by``, ``mark``, ``licence`` and, in ``[ranges]``,
        the plausible ``[low, high]`` of each number column.

    Returns
    -------
    Table

    Raises
    ------
    TableError
        A cell is no number, out of its plausible range, or a number column has no range.
    """
    folder = files("panelwright.tables") / "data"
    about = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
    lines = list(csv.reader((folder / f"{name}.csv").read_text(encoding="utf-8").splitlines()))
    columns, units = tuple(lines[0]), tuple(lines[1])
    rows = tuple(
        tuple(
            _cell(text, unit, f"table {name}, row {number}, {column}")
            for text, unit, column in zip(line, units, columns, strict=True)
        )
        for number, line in enumerate(lines[2:], start=1)
    )
    table = Table(name, columns, units, rows, _source(about))
    ranges = about.get("ranges", {})
    missing = [c for c, u in zip(columns, units, strict=True) if u != "text" and c not in ranges]
    if missing:
        raise TableError(f"table {name}: no plausible range given for {', '.join(missing)}")
    _check_range(table, ranges)
    return table
