"""A sister vehicle: coordinates that a measuring system printed, and what was read on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.models.base import millimetres
from panelwright.quantities import Length, Units, show_length
from panelwright.web.fit_rows import Bad, RowError, length_in, need, rows_of

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.facts.models.geometry import Sister
    from panelwright.facts.repair import Repair
    from panelwright.web.visit import There

COLUMNS: Mapping[str, str] = {
    "point": "the point, by the name that it has here, such as L5",
    "x": "rearward of the front axle’s plane, or of the sheet’s own zero",
    "y": "to the right of the centre plane; to the left with a minus",
    "z": "above the zero plane",
    "u": "its standard uncertainty; left out: 1 mm, common practice, no source",
    "vehicle": "which vehicle it was",
}
WAYS = (("rearward", "forward"), ("to the right", "to the left"), ("up", "down"))
WITHOUT_NAMES = ("point", "x", "y", "z")
MOST_ROWS = 500


@dataclass(frozen=True)
class SisterRow:
    """A point of the sister vehicle whose coordinates are there."""

    fact: str
    point: str
    name: str
    at: str
    vehicle: str


@dataclass(frozen=True)
class SisterTable:
    """What a text holds: tables of the repair file, and rows that cannot be taken."""

    bodies: tuple[dict[str, object], ...]
    bad: tuple[Bad, ...]


def sister_facts(there: There) -> tuple[Fact, ...]:
    """Give the facts of the sister vehicle's coordinates, in the order of the repair."""
    return tuple(fact for fact in there.known.folded.facts if fact.kind == "sister")


def rows_here(there: There) -> tuple[SisterRow, ...]:
    """Give the coordinates that are there."""
    repair = there.known.repair
    return tuple(
        SisterRow(
            str(fact.id),
            one.point,
            (repair.point_by_id[one.point].name or "") if one.point in repair.point_by_id else "",
            ", ".join(_way(mm, *ways, there.units) for mm, ways in _axes(one)),
            one.vehicle or "",
        )
        for fact, one in zip(sister_facts(there), repair.sisters, strict=True)
    )


def _axes(one: Sister) -> Iterator[tuple[float, tuple[str, str]]]:
    return zip(millimetres(one.xyz), WAYS, strict=True)


def _way(mm: float, plus: str, minus: str, units: Units) -> str:
    return f"{show_length(abs(mm), units)} {minus if mm < 0 else plus}"


def read_on_it(repair: Repair) -> int:
    """Give how many readings were taken on it."""
    return sum(reading.when == "sister" for reading in repair.readings)


def table_of(text: str, repair: Repair, units: Units) -> SisterTable:
    """Give the coordinates of a text, and what is wrong with its rows."""
    bodies: list[dict[str, object]] = []
    bad: list[Bad] = []
    try:
        rows = tuple(rows_of(text, COLUMNS, WITHOUT_NAMES))
    except RowError as error:
        return SisterTable((), (Bad(1, str(error)),))
    known = {one.point for one in repair.sisters}
    for row in rows:
        try:
            body = _body(row.cells, repair, known, units)
        except RowError as error:
            bad.append(Bad(row.number, str(error)))
        else:
            known.add(str(body["point"]))
            bodies.append(body)
    if len(rows) > MOST_ROWS:
        bad.append(Bad(rows[MOST_ROWS].number, f"at most {MOST_ROWS} rows at once"))
    return SisterTable(tuple(bodies), tuple(bad))


def _body(
    cells: Mapping[str, str], repair: Repair, known: set[str], units: Units
) -> dict[str, object]:
    if "" in cells:
        raise RowError(cells[""])
    point = need(cells, "point")
    if point not in repair.point_by_id:
        raise RowError(f"point {point!r} is not there")
    if point in known:
        raise RowError(f"point {point!r} has coordinates already; take those away first")
    body: dict[str, object] = {
        "point": point,
        "xyz": [length_in(cells, axis, units) for axis in "xyz"],
    }
    if "u" in cells:
        body["u"] = length_in(cells, "u", units)
        if Length.parse(body["u"]).mm < 0:
            raise RowError(f"u: {body['u']}, an uncertainty is not less than zero")
    if "vehicle" in cells:
        body["vehicle"] = cells["vehicle"]
    return body
