"""The tables of the store, as the newest migration leaves them.

Times are RFC 3339 text, as in the facts. `fact.entry` holds the bytes that `entry_bytes` gave; the
columns beside it repeat what a question needs without reading them all. `fact.seq` counts the facts
of all repairs without a gap, in the order in which they became visible; `fact.number` counts those
of one repair.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

SCHEMA = "0001"
"""The newest migration."""

metadata = MetaData(
    naming_convention={
        "pk": "%(table_name)s_pk",
        "fk": "%(table_name)s_%(column_0_name)s_fk",
        "uq": "%(table_name)s_%(column_0_N_name)s_unique",
        "ix": "%(table_name)s_%(column_0_N_name)s",
    }
)

whole = BigInteger().with_variant(Integer, "sqlite")

repair = Table(
    "repair",
    metadata,
    Column("name", Text, primary_key=True),
    Column("created_at", Text, nullable=False),
)

fact = Table(
    "fact",
    metadata,
    Column("seq", whole, primary_key=True, autoincrement=False),
    Column("repair", Text, ForeignKey("repair.name"), nullable=False),
    Column("number", whole, nullable=False),
    Column("id", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("entry", LargeBinary, nullable=False),
    Column("recorded_at", Text, nullable=False),
    UniqueConstraint("repair", "number"),
    UniqueConstraint("repair", "id"),
)

photo = Table(
    "photo",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("media", Text, nullable=False),
    Column("width", whole, nullable=False),
    Column("height", whole, nullable=False),
    Column("size", whole, nullable=False),
    Column("added_at", Text, nullable=False),
)

person = Table(
    "person",
    metadata,
    Column("name", Text, primary_key=True),
    Column("units", Text, nullable=False),
    Column("theme", Text, nullable=False),
)

GUARDED = ("fact", "photo")
"""Tables whose rows can only be added; triggers see to it."""

GUARDS = {
    "sqlite": (
        ("fact", ("fact_next", "fact_no_delete", "fact_no_update")),
        ("photo", ("photo_new", "photo_no_delete", "photo_no_update")),
    ),
    "postgresql": (
        ("fact", ("fact_next", "fact_no_change", "fact_no_truncate")),
        ("photo", ("photo_no_change", "photo_no_truncate")),
    ),
}
"""The triggers by database and table."""
