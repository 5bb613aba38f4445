"""From a layout that is written for the left to the tables of either side.

A layout is written like a repair file, with these differences: `{side}` and `{other}` in a text
stand for the damaged side and the other one; a `[[pair]]` makes two points that are each other's
twin, L1 and R1 for number 1, the one on the damaged side at its `xyz`, `on` its part and with its
`home` and `damaged`, the other mirrored, with `far_on` and `far_home`; and all tables are assumed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import TypeAlias

from panelwright.facts.assumed import KINDS, MARK

Table: TypeAlias = Mapping[str, object]
Tables: TypeAlias = Mapping[str, tuple[Table, ...]]

_VECTORS = frozenset({"xyz", "gap_towards", "flush_towards", "normal", "axis", "slot_along"})
"""Keys of places and directions: mirrored for the right."""


class Side(StrEnum):
    """The damaged side: the driver's left or right."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> Side:
        """Give the side across the centre plane."""
        return Side.RIGHT if self is Side.LEFT else Side.LEFT

    @property
    def letter(self) -> str:
        """Give what the ids of its points begin with."""
        return self.value[0].upper()


def tables_for(side: Side, written: Tables) -> dict[str, list[dict[str, object]]]:
    """Give the tables of a layout for damage on one side, all of them assumed.

    Parameters
    ----------
    side : Side
        Where the damage is.
    written : mapping
        Tables of the layout, as it is written for the left.

    Returns
    -------
    dict
        Tables of a repair file, in its order.
    """
    points = [point for pair in written.get("pair", ()) for point in _pair(pair)]
    plain = {**written, "point": (*points, *written.get("point", ()))}
    return {
        kind: [{**_told(table, side), MARK: True} for table in plain[kind]]
        for kind in KINDS
        if plain.get(kind)
    }


def _pair(pair: Table) -> Iterator[Table]:
    """Give the point on the damaged side and its twin, as written for the left."""
    near, far = f"{{near}}{pair['number']}", f"{{far}}{pair['number']}"
    shared = {"tolerance": pair.get("tolerance")}
    yield _without_nothing(
        {
            "id": near,
            "name": f"{{side}} {pair['name']}",
            "on": pair.get("on"),
            "xyz": pair["xyz"],
            "twin": far,
            "home": pair.get("home"),
            "damaged": pair.get("damaged"),
            **(shared if "home" in pair else {}),
        }
    )
    yield _without_nothing(
        {
            "id": far,
            "name": f"{{other}} {pair['name']}",
            "on": pair.get("far_on"),
            "xyz": _mirrored(pair["xyz"]),
            "twin": near,
            "home": pair.get("far_home"),
            **(shared if "far_home" in pair else {}),
        }
    )


def _without_nothing(table: Table) -> Table:
    return {key: value for key, value in table.items() if value is not None}


def _told(table: Table, side: Side) -> dict[str, object]:
    """Give a table with the words and, on the right, the mirrored vectors of a side."""
    mirrored = side is Side.RIGHT
    return {
        key: _mirrored(value) if mirrored and key in _VECTORS else _worded(value, side)
        for key, value in table.items()
    }


def _mirrored(value: object) -> list[object]:
    """Give a place or direction across the centre plane; 0 stays 0."""
    if not isinstance(value, list | tuple):
        raise TypeError(f"{value!r} is no place or direction of a layout")
    x, y, z = value
    return [x, 0 - y, z]


def _worded(value: object, side: Side) -> object:
    if isinstance(value, str):
        return value.format(
            side=side.value, other=side.other.value, near=side.letter, far=side.other.letter
        )
    if isinstance(value, list | tuple):
        return [_worded(item, side) for item in value]
    if isinstance(value, Mapping):
        return {key: _worded(item, side) for key, item in value.items()}
    return value
