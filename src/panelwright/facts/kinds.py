"""The kinds of facts: one for each table of the repair file, and the withdrawal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache, lru_cache
from typing import TypeAlias, get_args, get_origin

from pydantic import BaseModel

from panelwright.facts.models.document import Document

WITHDRAWN = "withdrawn"
"""A fact that takes another back; its body holds the `id` of that fact and the `reason`."""

_NO_TABLE = frozenset({"format"})

Upcast: TypeAlias = Callable[[Mapping[str, object]], Mapping[str, object]]
"""Gives the body by the rules of the next version."""

UPCASTS: Mapping[tuple[str, int], Upcast] = {}
"""By kind and version; every table is in its first version so far."""


@dataclass(frozen=True)
class Kind:
    """A table of the repair file: once in a repair (`single`) or many times.

    A `named` table always has an id; said anew with the same id it replaces what was said before.
    """

    name: str
    single: bool
    version: int = 1
    named: bool = False


@cache
def kinds() -> Mapping[str, Kind]:
    """Give the kinds that are tables, in the order of the repair file."""
    return {
        name: Kind(
            name,
            single=get_origin(field.annotation) is not tuple,
            named=_always_has_id(field.annotation),
        )
        for name, field in Document.model_fields.items()
        if name not in _NO_TABLE
    }


def _always_has_id(annotation: object) -> bool:
    """Tell whether the items of a table must have an id; a reading may have one and need not."""
    item = next(iter(get_args(annotation)), None)
    if not (isinstance(item, type) and issubclass(item, BaseModel)):
        return False
    field = item.model_fields.get("id")
    return field is not None and field.is_required()


_Schema: TypeAlias = Mapping[str, object]


@cache
def _schema() -> _Schema:
    return Document.model_json_schema(by_alias=True)


def _part(value: object) -> _Schema:
    return value if isinstance(value, dict) else {}


def _alternatives(schema: _Schema) -> list[_Schema]:
    """Give a schema and what it refers to or offers, so that each says something itself."""
    found = [schema]
    if isinstance(reference := schema.get("$ref"), str):
        definitions = _part(_schema()["$defs"])
        found += _alternatives(_part(definitions[reference.rsplit("/", 1)[-1]]))
    for word in ("anyOf", "oneOf", "allOf"):
        offered = schema.get(word)
        for one in offered if isinstance(offered, list) else []:
            found += _alternatives(_part(one))
    return found


def _of_key(schemas: list[_Schema], key: str) -> list[_Schema]:
    found = [_part(schema.get("properties")).get(key) for schema in schemas]
    return [one for schema in found if schema for one in _alternatives(_part(schema))]


def _of_place(schemas: list[_Schema], place: int) -> list[_Schema]:
    found: list[_Schema] = []
    for schema in schemas:
        places = schema.get("prefixItems")
        if isinstance(places, list) and place < len(places):
            found += _alternatives(_part(places[place]))
        elif isinstance(schema.get("items"), dict):
            found += _alternatives(_part(schema["items"]))
    return found


def _order(schemas: list[_Schema]) -> dict[str, int]:
    """Give the place of each key: what a table must have comes first."""
    needed = [schema.get("required") for schema in schemas]
    keys = [key for one in needed if isinstance(one, list) for key in one]
    keys += [key for schema in schemas for key in _part(schema.get("properties"))]
    return {key: place for place, key in enumerate(dict.fromkeys(keys))}


@dataclass(frozen=True)
class _At:
    """What the tables say of one place in them: the formats of a text, the order of keys."""

    schemas: list[_Schema]
    formats: frozenset[str]
    order: Mapping[str, int]


@lru_cache(maxsize=4096)
def _at(path: tuple[str | int, ...]) -> _At:
    """Give what stands at a path of keys and places; many facts of a log ask for the same."""
    if not path:
        schemas = _alternatives(_schema())
    elif isinstance(path[-1], str):
        schemas = _of_key(_at(path[:-1]).schemas, path[-1])
    else:
        schemas = _of_place(_at(path[:-1]).schemas, path[-1])
    formats = frozenset(str(schema.get("format")) for schema in schemas)
    return _At(schemas, formats, _order(schemas))


def _restored(value: object, path: tuple[str | int, ...]) -> object:
    if isinstance(value, str):
        return _moment(value, _at(path).formats)
    if isinstance(value, tuple):
        return [_restored(item, (*path, n)) for n, item in enumerate(value)]
    if isinstance(value, Mapping):
        order = _at(path).order
        keys = sorted(value, key=lambda key: order.get(key, len(order)))
        return {key: _restored(value[key], (*path, key)) for key in keys}
    return value


def _moment(text: str, formats: frozenset[str]) -> str | date | datetime:
    """Give the moment or day that a text stands for where the table has one."""
    for word, kind in (("date-time", datetime), ("date", date)):
        if word not in formats:
            continue
        try:
            moment = kind.fromisoformat(text)
        except ValueError:
            continue
        if moment.isoformat() == text:
            return moment
    return text


def table_of(kind: str, body: Mapping[str, object]) -> dict[str, object]:
    """Give a body as TOML has it: moments and days as such, keys in the order of the table.

    Parameters
    ----------
    kind : str
        A name of `kinds`.
    body : mapping
        In JSON's kinds.
    """
    table = _restored(body, (kind,) if kinds()[kind].single else (kind, 0))
    return table if isinstance(table, dict) else {}


def body_of(table: Mapping[str, object]) -> dict[str, object]:
    """Give a TOML table in JSON's kinds: moments and days as RFC 3339 text."""
    return {key: _spoken(value) for key, value in table.items()}


def _spoken(value: object) -> object:
    if isinstance(value, Mapping):
        return {key: _spoken(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_spoken(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value  # a datetime is a date too
