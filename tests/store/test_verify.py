"""Whoever changes what is stored is found, and the entry is named."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from panelwright.errors import StoreDamagedError, StoreError
from panelwright.facts.entry import entry_after, entry_bytes
from panelwright.store import Place, Store, open_store
from tests.store.making import fact, facts, forced, picture


@pytest.fixture
def filled(store: Store) -> Store:
    store.start("heron-113", facts(0, 2))
    store.start("heron-114", facts(0, 4))
    store.start("heron-115", facts(0, 2))
    store.add_photo(picture(1))
    store.add_photo(picture(2))
    return store


def changed_bytes(store: Store, old: bytes, new: bytes) -> bytes:
    with store._reader.connect() as connection:
        rows = "SELECT entry FROM fact WHERE repair = 'heron-114' AND number = 2"
        data = bytes(connection.execute(text(rows)).scalar_one())
    assert old in data
    return data.replace(old, new)


@pytest.mark.exact
def test_what_is_whole_is_counted(filled: Store) -> None:
    verified = filled.verify()
    assert verified.broken == ()
    assert [(one.repair, one.facts) for one in verified.heads] == [
        ("heron-113", 2),
        ("heron-114", 4),
        ("heron-115", 2),
    ]
    assert verified.heads[1].head == filled.log("heron-114").head
    assert (verified.facts, len(verified.photos)) == (8, 2)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("column", "value", "what"),
    [
        ("kind", "part", "its row says kind 'part', the entry itself 'conditions'"),
        ("id", "x", "its row says id 'x'"),
        ("hash", "0" * 64, "its row says hash '000"),
        ("previous", "0" * 64, "it does not follow the entry before it"),
        ("recorded_at", "never", "its row says recorded_at 'never'"),
        ("entry", b"{}", "this is no entry of a log"),
    ],
)
def test_a_changed_column_names_its_entry(
    filled: Store, column: str, value: object, what: str
) -> None:
    statement = f"UPDATE fact SET {column} = :value WHERE repair = 'heron-114' AND number = 2"  # noqa: S608
    forced(filled, statement, value=value)
    first = filled.verify().broken[0]
    assert (first.repair, first.number) == ("heron-114", 2)
    assert str(first).startswith("heron-114, entry 2: ")
    assert what in first.what
    assert {one.repair for one in filled.verify().broken} == {"heron-114"}


@pytest.mark.exact
@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        (b'"humidity":2', b'"humidity":3', "its fact is not the one that was hashed"),
        (b'"person":"Kim"', b'"person":"Ada"', "its fact is not the one that was hashed"),
        (b'"person":"Kim"', b'"person": "Kim"', "not the bytes that were written"),
    ],
)
def test_a_changed_fact_names_its_entry_and_no_other(
    filled: Store, old: bytes, new: bytes, what: str
) -> None:
    data = changed_bytes(filled, old, new)
    statement = "UPDATE fact SET entry = :data WHERE repair = 'heron-114' AND number = 2"
    forced(filled, statement, data=data)
    (broken,) = filled.verify().broken
    assert (broken.repair, broken.number, broken.id) == ("heron-114", 2, str(fact(2).id))
    assert what in broken.what


@pytest.mark.exact
def test_a_fact_forged_with_its_own_hash_breaks_the_next(filled: Store) -> None:
    log = filled.log("heron-114")
    forged = entry_after(log.entries[1].hash, fact(2, body={"humidity": 99}))
    forced(
        filled,
        "UPDATE fact SET entry = :entry, hash = :hash WHERE repair = 'heron-114' AND number = 2",
        entry=entry_bytes(forged),
        hash=forged.hash,
    )
    (broken,) = filled.verify().broken
    assert (broken.number, broken.what) == (3, "it does not follow the entry before it")


@pytest.mark.exact
def test_an_entry_that_is_gone_is_told(filled: Store) -> None:
    forced(filled, "DELETE FROM fact WHERE repair = 'heron-114' AND number = 1")
    assert [str(one) for one in filled.verify().broken] == [
        "table fact: 7 facts are there, 8 were numbered",
        "heron-114, entry 2: the entries from 1 to 1 before it are gone",
    ]


def put(database: Path, column: str, value: object, seq: int) -> bool:
    """Put a value in a row, whatever its kind; tell whether the database let that be."""
    with closing(sqlite3.connect(database)) as file:
        listed = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        triggers = file.execute(listed).fetchall()
        for name, _ in triggers:
            file.execute(f"DROP TRIGGER {name}")
        was = file.execute(f"SELECT {column} FROM fact WHERE seq = ?", [seq]).fetchone()  # noqa: S608
        try:
            file.execute(f"UPDATE fact SET {column} = ? WHERE seq = ?", [value, seq])  # noqa: S608
        except sqlite3.Error:
            return False
        for _, sql in triggers:
            file.execute(sql)
        file.commit()
        return bool(was != (value,))


@pytest.mark.invariant
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    column=st.sampled_from(["entry", "id", "kind", "previous", "hash", "number", "seq"]),
    value=st.one_of(st.integers(-5, 99), st.floats(0, 9), st.text(max_size=5), st.binary()),
    seq=st.integers(1, 6),
)
def test_any_value_in_any_place_of_the_file_is_found(
    tmp_path: Path, column: str, value: object, seq: int
) -> None:
    whole = Place(tmp_path / "whole")
    if not whole.database.exists():
        with open_store(whole) as store:
            store.start("heron-114", facts(0, 4))
            store.start("heron-115", facts(0, 2))
    forged = Place(tmp_path / "forged")
    shutil.rmtree(forged.folder, ignore_errors=True)
    shutil.copytree(whole.folder, forged.folder)
    if put(forged.database, column, value, seq):
        with open_store(forged, make=False) as store:
            assert store.verify().broken


@pytest.mark.exact
def test_a_broken_entry_stops_reading_and_says_which(filled: Store) -> None:
    forced(filled, "UPDATE fact SET entry = :x WHERE repair = 'heron-114' AND number = 2", x=b"{}")
    with pytest.raises(StoreDamagedError, match=r"heron-114, entry 2: .*panelwright verify"):
        filled.log("heron-114")
    assert filled.log("heron-113").facts == tuple(facts(0, 2))


@pytest.mark.exact
def test_photos_that_are_gone_or_changed_are_told(filled: Store) -> None:
    gone, changed = filled.verify().photos
    filled.photo_file(gone).unlink()
    filled.photo_file(changed).write_bytes(picture(9))
    told = sorted(str(one) for one in filled.verify().broken)
    assert told == sorted(
        [
            f"photo {gone[:12]}: the file of photo {gone} is gone",
            f"photo {changed[:12]}: the file of photo {changed} is not what was stored",
        ]
    )
    assert filled.verify().photos == ()


@pytest.mark.exact
def test_missing_triggers_are_told(filled: Store, kind: str) -> None:
    with filled._writer.begin() as connection:
        if kind == "sqlite":
            connection.execute(text("DROP TRIGGER photo_no_update"))
            connection.execute(text("DROP TRIGGER fact_no_delete"))
        else:
            connection.execute(text("ALTER TABLE photo DISABLE TRIGGER photo_no_change"))
            connection.execute(text("DROP TRIGGER fact_no_change ON fact"))
    assert [str(one) for one in filled.verify().broken] == [
        "table fact: a trigger that lets rows only be added is gone",
        "table photo: a trigger that lets rows only be added is gone",
    ]


@pytest.mark.exact
def test_a_page_of_the_file_that_was_overwritten_is_told(
    filled: Store, place: Place, kind: str
) -> None:
    if kind != "sqlite":
        return  # the file is the server's
    filled.start("long", facts(100, 200))
    filled.close()
    with closing(sqlite3.connect(place.database)) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    with place.database.open("r+b") as database:
        database.seek(20 * 4096)
        database.write(b"\x55" * 3 * 4096)
    with open_store(place, make=False) as store:
        assert store.verify().broken
        assert store.verify().broken[0].where == "database"


@pytest.mark.exact
@pytest.mark.parametrize("content", [b"hello, this is a text file" * 40, b"\0" * 4096])
def test_another_file_in_its_place_is_told(tmp_path: Path, content: bytes) -> None:
    place = Place(tmp_path)
    place.database.write_bytes(content)
    with pytest.raises(StoreError, match=r"is damaged|no database"):
        open_store(place, make=False)
    assert place.database.read_bytes() == content
