"""Bring the tables to the newest numbered migration, all of it or nothing.

A migration that changes a table uses ``op.batch_alter_table``, since SQLite can alter little in
place, and makes the triggers of that table anew: a table made anew has none.
"""

from __future__ import annotations

from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from sqlalchemy import Text, column, inspect, select, table

from panelwright.errors import StoreDamagedError, StoreVersionError
from panelwright.store.tables import SCHEMA

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

MIGRATIONS = Path(__file__).with_name("migrations")

_ONE_AT_A_TIME = Lock()
"""Alembic keeps what it works on in one place for the whole process."""


def schema_of(connection: Connection) -> str | None:
    """Give the number of the last migration that was run, None where there are no tables."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    last = select(column("version_num", Text)).select_from(table("alembic_version"))
    return connection.execute(last).scalar_one_or_none()


def migrate(engine: Engine, *, upto: str = SCHEMA) -> None:
    """Run the migrations that are missing, in one transaction.

    Parameters
    ----------
    engine : Engine
        Of the writer.
    upto : str
        Number of the last migration to run.

    Raises
    ------
    StoreVersionError
        Where the tables were made by a newer version of the program.
    StoreDamagedError
        Where a row would refer to nothing afterwards.
    """
    with _ONE_AT_A_TIME, engine.connect() as connection:
        if sqlite := connection.dialect.name == "sqlite":
            # a table made anew is dropped for a moment; this cannot be said inside a transaction
            _outside(connection, "PRAGMA foreign_keys=OFF")
        try:
            with connection.begin():
                _run(connection, upto)
                if sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
                    raise StoreDamagedError(
                        "rows refer to rows that are not there; nothing changed"
                    )
        finally:
            if sqlite:
                _outside(connection, "PRAGMA foreign_keys=ON")


def _outside(connection: Connection, statement: str) -> None:
    driver = connection.connection.driver_connection
    if driver is not None:
        driver.execute(statement)


def _run(connection: Connection, upto: str) -> None:
    from alembic import command  # noqa: PLC0415 - slow, and needed once in a store's life
    from alembic.config import Config  # noqa: PLC0415
    from alembic.script import ScriptDirectory  # noqa: PLC0415

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    script = ScriptDirectory.from_config(config)
    check_known(schema_of(connection), [step.revision for step in script.walk_revisions()])
    command.upgrade(config, upto)


def check_known(schema: str | None, known: list[str]) -> None:
    """Refuse a store whose last migration is not known here."""
    if schema is not None and schema not in known:
        raise StoreVersionError(
            f"this store was written by a newer version of the program (tables {schema}, known "
            f"here up to {max(known)}); install that version or a newer one"
        )
