"""Readings from a table, pasted or uploaded: each row says one, or what is wrong with it."""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING

from panelwright.errors import QuantityError
from panelwright.quantities import Length, Units
from panelwright.web.fit_stages import BEFORE_KEY, ON_SISTER, SISTER_KEY, Stage, Stages
from panelwright.web.fit_targets import (
    TOOL_WORDS,
    Read,
    Target,
    is_there,
    target_of_reading,
    tools_for,
)

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair

MOST_ROWS = 500
_BARE = frozenset("0123456789./+-−,' \u2044")

COLUMNS: Mapping[str, str] = {
    "from": "span: first point, such as L5",
    "to": "span: second point",
    "value": "span: its length",
    "against_from": "side against side: first point of the other span",
    "against_to": "side against side: second point of the other span",
    "difference": "side against side: span less the other span; below zero where it is shorter",
    "point": "height: the point",
    "height": "height: above the zero plane",
    "station": "gap and flush: the place, such as d1",
    "gap": "gap and flush: a length, or tight, ok, wide",
    "flush": "gap and flush: a length, or low, ok, high",
    "contact": "flange: the place, such as c1",
    "locator": "pin or hole: the place, such as p1",
    "state": "flange: seated, open, forced; pin or hole: aligned, off",
    "lift": "flange: how far it is open",
    "along": "pin or hole: how far off along the slot",
    "across": "pin or hole: how far off across it",
    "with": "tool: tape, tram, caliper, gauge, level or one of your own",
    "when": "before, now, or sister (on a sister vehicle); left out: as chosen above",
    "fit": "number of the dry fit; left out: as chosen above",
    "note": "anything else",
}
"""Columns by name and what stands in them; a table needs only those that it fills."""

WITHOUT_NAMES = ("from", "to", "value", "with")
"""Columns of a table whose first row names none."""
_BACK = {word: tool for tool, word in TOOL_WORDS.items()}


class RowError(Exception):
    """A row that cannot be taken, with the reason."""


@dataclass(frozen=True)
class Bad:
    """A row that cannot be taken: its number, from 1 as in the text, and why."""

    number: int
    why: str


@dataclass(frozen=True)
class Row:
    """A row as it stands: its number and what its columns hold."""

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True)
class Table:
    """What a text holds."""

    bodies: tuple[dict[str, object], ...]
    bad: tuple[Bad, ...]


def table_of(text: str, repair: Repair, stages: Stages, stage: Stage, units: Units) -> Table:
    """Give the readings of a text, and what is wrong with its rows."""
    bodies: list[dict[str, object]] = []
    bad: list[Bad] = []
    try:
        rows = tuple(rows_of(text))
    except RowError as error:
        return Table((), (Bad(1, str(error)),))
    known = _known(repair, stages)
    for row in rows:
        try:
            body = _body(row.cells, repair, stages, stage, units)
            _refuse_twice(body, known)
        except RowError as error:
            bad.append(Bad(row.number, str(error)))
        else:
            bodies.append(body)
    if len(rows) > MOST_ROWS:
        bad.append(Bad(rows[MOST_ROWS].number, f"at most {MOST_ROWS} rows at once"))
    return Table(tuple(bodies), tuple(bad))


def rows_of(
    text: str,
    columns: Collection[str] = COLUMNS,
    without_names: Sequence[str] = WITHOUT_NAMES,
) -> Iterator[Row]:
    """Give the rows of a text by column; RowError where it is no table of such columns."""
    lines = text.lstrip("\ufeff").splitlines()
    filled = [line for line in lines if line.strip()]
    if not filled:
        return
    mark = max(";\t,", key=filled[0].count)
    try:
        cells = list(csv.reader(StringIO("\n".join(lines)), delimiter=mark, strict=True))
    except csv.Error as error:
        raise RowError(f"this is no table: {error}") from error
    first = next(n for n, row in enumerate(cells) if any(cell.strip() for cell in row))
    names = [cell.strip().lower().replace(" ", "_") for cell in cells[first]]
    if not set(names) & set(columns):
        names, first = list(without_names), first - 1
    unknown = [name for name in names if name and name not in columns]
    if unknown:
        raise RowError(f"column {unknown[0]!r} is none; see the list of columns")
    for number, row in enumerate(cells[first + 1 :], start=first + 2):
        values = [cell.strip() for cell in row]
        if not any(values):
            continue
        if any(values[len(names) :]):
            yield Row(number, {"": f"{len(values)} cells, and there are {len(names)} columns"})
            continue
        named = zip(names, values, strict=False)
        yield Row(number, {name: value for name, value in named if name and value})


def _body(
    cells: Mapping[str, str], repair: Repair, stages: Stages, stage: Stage, units: Units
) -> dict[str, object]:
    if "" in cells:
        raise RowError(cells[""])
    kind = _kind(cells)
    target = Target(kind, tuple(need(cells, name) for name in _NAMED[kind]))
    if not is_there(target, repair):
        raise RowError(_not_there(target, repair))
    said = {key: value for key, value in _SAID[kind](cells, units).items() if value is not None}
    tool = _tool(cells, kind, repair)
    when = stages.said(_stage(cells, stages, stage), target, repair)
    extra = {"with": tool, "note": cells.get("note")}
    return {**said, **when, **{key: value for key, value in extra.items() if value}}


_NAMED = {
    Read.SPAN: ("from", "to"),
    Read.COMPARE: ("from", "to", "against_from", "against_to"),
    Read.HEIGHT: ("point",),
    Read.STATION: ("station",),
    Read.CONTACT: ("contact",),
    Read.LOCATOR: ("locator",),
}


def _kind(cells: Mapping[str, str]) -> Read:
    named = [key for key in ("station", "contact", "locator", "point") if key in cells]
    spans = [key for key in ("from", "to") if key in cells]
    if len(named) + bool(spans) != 1:
        raise RowError("a row says one thing: a span, a height, a station, a contact or a locator")
    if named:
        return Read.HEIGHT if named[0] == "point" else Read(named[0])
    compares = {"against_from", "against_to", "difference"} & cells.keys()
    return Read.COMPARE if compares else Read.SPAN


def need(cells: Mapping[str, str], name: str) -> str:
    """Give what stands in a cell; RowError where nothing does."""
    if name not in cells:
        raise RowError(f"column {name} is empty")
    return cells[name]


def _not_there(target: Target, repair: Repair) -> str:
    kind = target.kind
    if kind not in (Read.SPAN, Read.COMPARE, Read.HEIGHT):
        if target.names[0] in repair.assumed.ids(kind.value):
            return f"{kind.value} {target.names[0]!r} is only assumed; confirm it first"
        return f"{kind.value} {target.names[0]!r} is not there"
    missing = [name for name in target.names if name not in repair.point_by_id]
    if missing:
        return f"point {missing[0]!r} is not there"
    return f"{' to '.join(target.names)}: a point is named twice"


def length_in(
    cells: Mapping[str, str], name: str, units: Units, words: tuple[str, ...] = ()
) -> str:
    """Give a cell's length as typed, with its unit; RowError where it is none."""
    text = need(cells, name)
    if text.lower() in words:
        return text.lower()
    typed = f"{text} {units.value}" if set(text) <= _BARE else text
    try:
        Length.parse(typed)
    except QuantityError as error:
        listed = f", or one of {', '.join(words)}" if words else ""
        raise RowError(f"{name}: {error}{listed}") from error
    return typed


def _maybe(
    cells: Mapping[str, str], name: str, units: Units, words: tuple[str, ...] = ()
) -> str | None:
    return length_in(cells, name, units, words) if name in cells else None


def _word(cells: Mapping[str, str], name: str, among: tuple[str, ...]) -> str:
    word = need(cells, name).lower()
    if word not in among:
        raise RowError(f"{name}: {cells[name]!r} is none of {', '.join(among)}")
    return word


def _span(cells: Mapping[str, str], units: Units) -> dict[str, object]:
    value = length_in(cells, "value", units)
    if Length.parse(value).mm <= 0:
        raise RowError(f"value: {value}, a span is more than zero")
    return {"from": cells["from"], "to": cells["to"], "value": value}


def _compare(cells: Mapping[str, str], units: Units) -> dict[str, object]:
    one, other = [cells["from"], cells["to"]], [cells["against_from"], cells["against_to"]]
    return {"compare": [one, other], "difference": length_in(cells, "difference", units)}


def _height(cells: Mapping[str, str], units: Units) -> dict[str, object]:
    return {"point": cells["point"], "height": length_in(cells, "height", units)}


def _station(cells: Mapping[str, str], units: Units) -> dict[str, object]:
    gap = _maybe(cells, "gap", units, ("tight", "ok", "wide"))
    flush = _maybe(cells, "flush", units, ("low", "ok", "high"))
    if gap is None and flush is None:
        raise RowError("neither gap nor flush is given")
    return {"station": cells["station"], "gap": gap, "flush": flush}


def _contact(cells: Mapping[str, str], units: Units) -> dict[str, object]:
    lift = _maybe(cells, "lift", units)
    state = "open" if lift is not None and "state" not in cells else None
    state = state or _word(cells, "state", ("seated", "open", "forced"))
    if (state == "open") != (lift is not None):
        raise RowError("lift: an open flange needs how far it is open, and only an open one has it")
    return {"contact": cells["contact"], "state": state, "lift": lift}


def _locator(cells: Mapping[str, str], units: Units) -> dict[str, object]:
    off = [_maybe(cells, "along", units), _maybe(cells, "across", units)]
    given = any(one is not None for one in off)
    state = "off" if given and "state" not in cells else _word(cells, "state", ("aligned", "off"))
    if (state == "off") != given:
        raise RowError("along, across: a pin that is off needs by how much, and only such a one")
    nought = f"0 {units.value}"
    return {
        "locator": cells["locator"],
        "state": state,
        "off": [one or nought for one in off] if given else None,
    }


_SAID: Mapping[Read, Callable[[Mapping[str, str], Units], dict[str, object]]] = {
    Read.SPAN: _span,
    Read.COMPARE: _compare,
    Read.HEIGHT: _height,
    Read.STATION: _station,
    Read.CONTACT: _contact,
    Read.LOCATOR: _locator,
}


def _tool(cells: Mapping[str, str], kind: Read, repair: Repair) -> str | None:
    word = cells.get("with", "").lower()
    if not word:
        return None
    own = {tool.id.lower(): tool.id for tool in repair.tools}
    known = {**_BACK, **{tool: tool for tool, _ in tools_for(kind, repair)}, **own}
    if word not in known:
        offered = ", ".join(tool for tool, _ in tools_for(kind, repair))
        raise RowError(f"with: {cells['with']!r} does not read this; {offered} do")
    return known[word]


def _stage(cells: Mapping[str, str], stages: Stages, stage: Stage) -> Stage:
    when = _word(cells, "when", (BEFORE_KEY, "now", SISTER_KEY)) if "when" in cells else ""
    if when in (BEFORE_KEY, SISTER_KEY):
        return stages.all[0] if when == BEFORE_KEY else ON_SISTER
    if "fit" in cells:
        found = stages.of(cells["fit"].removeprefix("0") or "?")
        if found is None or not found.is_fit:
            last = stages.all[-1].number
            raise RowError(f"fit: {cells['fit']!r} is none; dry fits so far: 1 to {last}")
        return found
    return stages.all[-1] if when == "now" and not stage.is_fit else stage


def _known(repair: Repair, stages: Stages) -> set[str]:
    found = set()
    for reading in repair.readings:
        target = target_of_reading(reading)
        if target is not None:
            number = stages.number_of(reading, repair)
            said = reading.model_dump(mode="json", by_alias=True, exclude_none=True)
            found.add(_print_of(said, Stage(number) if number > 0 else None))
    return found


_TELLING = ("value", "difference", "height", "gap", "flush", "state", "lift", "off")


def _print_of(body: Mapping[str, object], stage: Stage | None) -> str:
    names = [body.get(key) for key in ("from", "to", "compare", "point", *("station", "contact"))]
    names.append(body.get("locator"))
    told = [_mm(body.get(key)) for key in _TELLING]
    said = body.get("when")
    when = said if said in (BEFORE_KEY, SISTER_KEY) else stage.number if stage else None
    return repr((_flat(names), told, when))


def _flat(value: object) -> object:
    return [_flat(one) for one in value] if isinstance(value, list | tuple) else value


def _mm(value: object) -> object:
    if isinstance(value, list | tuple):
        return [_mm(one) for one in value]
    try:
        return round(Length.parse(value).mm, 6)
    except (QuantityError, TypeError):
        return value


def _refuse_twice(body: Mapping[str, object], known: set[str]) -> None:
    """Refuse a reading that is there with the same value in the same stage: pasted twice."""
    setting = body.get("setting")
    stage = Stage(setting) if isinstance(setting, int) else None
    if _print_of(body, stage) in known:
        raise RowError("this reading is there already, with the same value")
