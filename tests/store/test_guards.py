"""Rows of facts and photos can only be added, and facts only at the end."""

from __future__ import annotations

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from panelwright.facts.entry import entry_after
from panelwright.facts.log import Log
from panelwright.store import Store
from panelwright.store.writing import row_of
from tests.store.making import fact, facts, picture

CHANGES = {
    "update": "UPDATE fact SET kind = 'part' WHERE number = 1",
    "delete": "DELETE FROM fact WHERE number = 1",
    "delete all": "DELETE FROM fact",
    "update photo": "UPDATE photo SET size = 1",
    "delete photo": "DELETE FROM photo",
    "repair": "DELETE FROM repair",
}


@pytest.fixture
def filled(store: Store) -> Store:
    store.start("heron-114", facts(0, 3))
    store.add_photo(picture())
    return store


def changed(store: Store, statement: str) -> None:
    with store._writer.begin() as connection:
        connection.execute(text(statement))


@pytest.mark.exact
@pytest.mark.parametrize("statement", CHANGES.values(), ids=CHANGES)
def test_what_is_stored_cannot_be_changed(filled: Store, statement: str) -> None:
    with pytest.raises(DBAPIError, match=r"only added|FOREIGN KEY|foreign key"):
        changed(filled, statement)
    assert filled.verify().broken == ()
    assert filled.log("heron-114") == Log().extend(facts(0, 3))


@pytest.mark.exact
@pytest.mark.parametrize("table", ["fact", "photo"])
def test_replacing_a_row_is_no_way_around(filled: Store, table: str, kind: str) -> None:
    if kind == "sqlite":
        statement = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1"  # noqa: S608
    else:
        key, other = ("seq", "kind") if table == "fact" else ("sha256", "media")
        statement = (
            f"INSERT INTO {table} SELECT * FROM {table} LIMIT 1 "  # noqa: S608
            f"ON CONFLICT ({key}) DO UPDATE SET {other} = 'x'"
        )
    with pytest.raises(DBAPIError, match=r"only added|behind the last|there already"):
        changed(filled, statement)


@pytest.mark.exact
def test_postgresql_cannot_be_emptied_at_once(filled: Store, kind: str) -> None:
    if kind == "sqlite":
        return  # it has no TRUNCATE
    with pytest.raises(DBAPIError, match="only added"):
        changed(filled, "TRUNCATE fact")


@pytest.mark.exact
@pytest.mark.parametrize(
    ("number", "seq", "head"),
    [(4, 4, True), (3, 5, True), (3, 4, False), (2, 4, True), (3, 3, True)],
    ids=["number skipped", "seq skipped", "other head", "number again", "seq again"],
)
def test_a_fact_goes_only_behind_the_last(
    filled: Store, number: int, seq: int, *, head: bool
) -> None:
    log = filled.log("heron-114")
    entry = entry_after(log.head if head else log.entries[0].hash, fact(9))
    row = row_of(entry, "heron-114", number=number, seq=seq)
    columns = ", ".join(row)
    values = ", ".join(f":{name}" for name in row)
    statement = text(f"INSERT INTO fact ({columns}) VALUES ({values})")  # noqa: S608
    with (
        pytest.raises(DBAPIError, match="behind the last"),
        filled._writer.begin() as connection,
    ):
        connection.execute(statement, row)
    with filled._writer.begin() as connection:  # the same row in its place is taken
        right = entry_after(log.head, fact(9))
        connection.execute(statement, row_of(right, "heron-114", number=3, seq=4))
    assert filled.verify().broken == ()


@pytest.mark.exact
def test_a_reader_cannot_write(filled: Store) -> None:
    with (
        filled._reader.connect() as connection,
        pytest.raises(DBAPIError, match=r"readonly|read-only"),
    ):
        connection.execute(text("INSERT INTO repair VALUES ('x', 'y')"))


@pytest.mark.exact
def test_readers_do_not_wait_for_a_writer(filled: Store) -> None:
    with filled._writer.begin() as connection:
        connection.execute(text("INSERT INTO repair VALUES ('unfinished', 'now')"))
        assert [one.name for one in filled.repairs()] == ["heron-114"]


@pytest.mark.exact
def test_every_commit_is_forced_to_the_disk(store: Store, kind: str) -> None:
    with store._writer.begin() as connection:
        if kind == "sqlite":
            asked = ("synchronous", "journal_mode", "foreign_keys")
            told = [connection.execute(text(f"PRAGMA {name}")).scalar_one() for name in asked]
            assert told == [2, "wal", 1]
        else:
            assert connection.execute(text("SHOW synchronous_commit")).scalar_one() == "on"
            assert connection.execute(text("SHOW fsync")).scalar_one() == "on"
