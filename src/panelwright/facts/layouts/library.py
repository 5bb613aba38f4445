"""The starting layouts there are, and the facts that one gives.

A layout is a TOML file beside this module, in the form that `sides` describes. Whatever it says is
assumed: proportions are invented and rounded to 10 mm, parts and joints are what a zone of its kind
commonly has (common practice, no source). None of it stands for a vehicle.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from panelwright.errors import InvalidFile
from panelwright.facts.document import FORMAT, facts_of
from panelwright.facts.layouts.sides import Side, Tables, tables_for

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact

_ORDER = (
    "van-rear-corner",
    "pickup-box-side",
    "estate-rear-quarter",
    "front-wing-bonnet",
    "door-skin",
    "roof",
)


@dataclass(frozen=True)
class Layout:
    """A zone that a repair can start from.

    Attributes
    ----------
    id, name, words : str
        Its name in files, on pages, and what it is in a sentence.
    sides : tuple of Side
        Where the damage can be.
    """

    id: str
    name: str
    words: str
    sides: tuple[Side, ...] = (Side.LEFT, Side.RIGHT)
    written: Tables = field(default_factory=dict, repr=False, compare=False)
    """Its tables as written, for damage on the left."""


@cache
def layouts() -> tuple[Layout, ...]:
    """Give all starting layouts, in the order in which they are offered."""
    return tuple(_read(name) for name in _ORDER)


def _read(name: str) -> Layout:
    text = files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    tables = {key: tuple(value) for key, value in data.items() if isinstance(value, list)}
    return Layout(data["id"], data["name"], data["words"], written=tables)


def _layout(name: str) -> Layout:
    found = {layout.id: layout for layout in layouts()}
    if name not in found:
        raise InvalidFile([("layout", f"{name!r} is none; there are: {', '.join(found)}")])
    return found[name]


def layout_data(id: str, *, side: Side, name: str, opened: datetime) -> dict[str, object]:  # noqa: A002 - its name in files
    """Give the tables of a repair file that starts from a layout.

    Parameters
    ----------
    id : str
        Of the layout.
    side : Side
        Where the damage is.
    name : str
        Of the repair: letters, digits, dash.
    opened : datetime
        With offset from UTC.

    Returns
    -------
    dict
        Every part, joint, point, station, contact and locator in it is assumed.

    Raises
    ------
    InvalidFile
        Where there is no such layout.
    """
    tables: Mapping[str, object] = tables_for(Side(side), _layout(id).written)
    return {"format": FORMAT, "repair": {"name": name, "opened": opened}, **tables}


def facts_of_layout(
    id: str,  # noqa: A002 - its name in files
    *,
    side: Side,
    name: str,
    opened: datetime,
    person: str,
) -> tuple[Fact, ...]:
    """Give the facts that start a repair from a layout; see `layout_data` and `facts_of`.

    What is right on this vehicle is said anew without the mark: see
    `panelwright.facts.assumed.confirmed`.

    Parameters
    ----------
    id, side, name, opened
        As in `layout_data`.
    person : str
        Who starts the repair.

    Raises
    ------
    InvalidFile
        Where there is no such layout, or the name or moment cannot be one of a repair.
    """
    return facts_of(layout_data(id, side=side, name=name, opened=opened), person=person)
