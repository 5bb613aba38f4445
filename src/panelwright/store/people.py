"""Who uses the store, and how they want to see it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from panelwright.errors import StoreError
from panelwright.quantities import Units
from panelwright.store.tables import person as table

if TYPE_CHECKING:
    from sqlalchemy import Connection

LONGEST_NAME = 200
"""As long as the person of a fact may be."""


class Theme(StrEnum):
    """Colours of the pages."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


@dataclass(frozen=True)
class Person:
    """A name as people write it, and how that person wants to see things."""

    name: str
    units: Units = Units.MM
    theme: Theme = Theme.SYSTEM


def people(connection: Connection) -> tuple[Person, ...]:
    """Give everybody by name."""
    rows = connection.execute(select(table).order_by(table.c.name))
    return tuple(Person(row.name, Units(row.units), Theme(row.theme)) for row in rows)


def remember(connection: Connection, person: Person) -> None:
    """Keep a person, or what that person has changed.

    Raises
    ------
    StoreError
        For a name that no fact could carry.
    """
    if not 1 <= len(person.name) <= LONGEST_NAME or not person.name.isprintable():
        raise StoreError(f"a name has 1 to {LONGEST_NAME} printable letters, not {person.name!r}")
    told = {"units": person.units.value, "theme": person.theme.value}
    changed = connection.execute(update(table).where(table.c.name == person.name).values(told))
    if changed.rowcount == 0:
        connection.execute(insert(table).values(name=person.name, **told))
