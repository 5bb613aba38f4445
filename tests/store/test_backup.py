"""A backup is made while others write, and put back only after all of it was verified."""

from __future__ import annotations

import json
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import text

from panelwright.errors import (
    InvalidFile,
    StoreBusyError,
    StoreDamagedError,
    StoreError,
    StoreVersionError,
)
from panelwright.store import Person, Place, Store, open_store, restore
from panelwright.store import backup as backing
from panelwright.store.place import DATABASE
from tests.store.conftest import MOMENT, clock
from tests.store.making import fact, facts, forced, picture, shows


@pytest.fixture
def filled(store: Store) -> Store:
    store.start("heron-114", facts(0, 3))
    store.append("heron-114", [shows(10, store.add_photo(picture(1)).sha256)])
    store.start("heron-115", facts(0, 2))
    store.remember(Person("Kim"))
    return store


def whole(store: Store) -> tuple[object, ...]:
    """Everything that a backup must keep."""
    logs = [(one, store.log(one.name)) for one in store.repairs()]
    return logs, store.since(0), store.people(), store.verify()


@pytest.mark.invariant
@pytest.mark.parametrize("other", ["sqlite", "postgresql"])
def test_a_backup_of_either_database_comes_back_in_either(
    filled: Store, new_place: Callable[..., Place], other: str, tmp_path: Path
) -> None:
    done = filled.back_up(tmp_path / "b.zip")
    assert (done.verified.facts, len(done.verified.photos)) == (6, 1)
    target = new_place(other)
    found = restore(target, done.path, moment=MOMENT)
    assert (found.verified.heads, found.kept) == (done.verified.heads, ())
    with open_store(target, make=False, clock=clock) as second:
        assert whole(second) == whole(filled)
        assert second.append("heron-114", facts(20, 1)).seq == 7
        assert second.verify().broken == ()
    assert not list(target.folder.glob(".work*"))


@pytest.mark.exact
def test_what_was_stored_before_is_kept(filled: Store, place: Place, tmp_path: Path) -> None:
    filled.back_up(tmp_path / "b.zip")
    filled.append("heron-114", [fact(20)])
    filled.start("heron-116", [fact(0)])
    before = whole(filled)
    (kept,) = restore(place, tmp_path / "b.zip", moment=MOMENT).kept
    assert len(filled.log("heron-114").entries) == 4  # this store stayed open all the time
    assert [one.name for one in filled.repairs()] == ["heron-114", "heron-115"]
    assert filled.append("heron-114", [fact(30)]).numbers == (4,)
    restore(place, kept, moment=MOMENT)
    assert whole(filled) == before


@pytest.mark.exact
def test_an_open_store_does_not_take_what_it_read_before_for_what_was_restored(
    filled: Store, place: Place, tmp_path: Path
) -> None:
    filled.back_up(tmp_path / "b.zip")
    filled.append("heron-114", [fact(20)])
    assert filled.log("heron-114").facts[-1] == fact(20)
    restore(place, tmp_path / "b.zip", moment=MOMENT)
    with open_store(place, make=False) as other:
        other.append("heron-114", [fact(30)])
        assert filled.log("heron-114") == other.log("heron-114")


@pytest.mark.exact
def test_a_backup_while_others_write_is_one_moment(
    filled: Store, place: Place, tmp_path: Path, new_place: Callable[..., Place]
) -> None:
    stop, first = Event(), Event()

    def write() -> None:
        with open_store(place, make=False) as another:
            number = 100
            while not stop.is_set():
                another.append("heron-114", [fact(number)])
                number += 1
                first.set()

    writer = Thread(target=write)
    writer.start()
    try:
        assert first.wait(20)
        heads = [filled.back_up(tmp_path / f"{n}.zip").verified.heads for n in range(3)]
    finally:
        stop.set()
        writer.join()
    assert heads[0][0].facts < heads[2][0].facts
    log = filled.log("heron-114")
    for n, (one, _) in enumerate(heads):
        assert log.entries[one.facts - 1].hash == one.head
        target = new_place("sqlite")
        assert restore(target, tmp_path / f"{n}.zip", moment=MOMENT).verified.heads == heads[n]


@pytest.mark.exact
def test_a_file_that_is_there_is_not_written_over(filled: Store, tmp_path: Path) -> None:
    target = tmp_path / "b.zip"
    target.write_bytes(b"something else")
    with pytest.raises(StoreError, match="is there already"):
        filled.back_up(target)
    assert target.read_bytes() == b"something else"
    with pytest.raises(StoreError, match=r"nowhere cannot be opened \(no such file"):
        filled.back_up(tmp_path / "nowhere" / "b.zip")


def rewritten(source: Path, target: Path, change: Callable[[Path], None]) -> Path:
    """Unpack a backup, change it, and pack it with a list that fits."""
    import hashlib  # noqa: PLC0415

    room = target.with_suffix("")
    with zipfile.ZipFile(source) as archive:
        archive.extractall(room)
    change(room)
    manifest = json.loads((room / "manifest.json").read_text())
    for name in list(manifest["files"]):
        if not (room / name).exists():
            del manifest["files"][name]
            continue
        data = (room / name).read_bytes()
        manifest["files"][name] = {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}
    (room / "manifest.json").write_text(json.dumps(manifest))
    with zipfile.ZipFile(target, "w") as archive:
        for name in ["manifest.json", *manifest["files"]]:
            archive.write(room / name, name)
    return target


def _sql(*statements: str) -> Callable[[Path], None]:
    def change(room: Path) -> None:
        with closing(sqlite3.connect(room / DATABASE)) as file:
            for name in [
                row[0]
                for row in file.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
            ]:
                if statements[0] != "keep":
                    file.execute(f"DROP TRIGGER {name}")
            for statement in statements:
                if statement != "keep":
                    file.execute(statement)
            file.commit()

    return change


def _photo(room: Path) -> Path:
    (photo,) = (room / "photos").iterdir()
    return photo


FORGERIES: dict[str, tuple[Callable[[Path], object], str]] = {
    "entry": (
        _sql("UPDATE fact SET entry = replace(entry, 'Kim', 'Ada') WHERE number = 1"),
        "heron-114, entry 1: ",
    ),
    "end cut off": (
        _sql("DELETE FROM fact WHERE repair = 'heron-114' AND number = 3"),
        "heron-114: its log does not end as listed, with 4 facts",
    ),
    "repair gone": (
        _sql("DELETE FROM fact WHERE repair = 'heron-115'"),
        "heron-115: its log does not end as listed, with 2 facts",
    ),
    "triggers": (_sql("SELECT 1"), "table fact: a trigger that lets rows only be added is gone"),
    "photo": (lambda room: _photo(room).write_bytes(picture(5)), "is not what was stored"),
    "photo gone": (lambda room: _photo(room).unlink(), "is gone"),
    "newer": (_sql("keep", "UPDATE alembic_version SET version_num = '9999'"), "newer version"),
    "no database": (lambda room: (room / DATABASE).write_bytes(b"x" * 5000), "is damaged"),
}


@pytest.mark.exact
@pytest.mark.parametrize(("change", "words"), FORGERIES.values(), ids=FORGERIES)
def test_a_backup_that_is_not_what_was_written_replaces_nothing(
    filled: Store, place: Place, tmp_path: Path, change: Callable[[Path], None], words: str
) -> None:
    filled.back_up(tmp_path / "b.zip")
    forged = rewritten(tmp_path / "b.zip", tmp_path / "forged.zip", change)
    filled.append("heron-114", [fact(20)])
    before = whole(filled)
    with pytest.raises((StoreDamagedError, StoreVersionError), match=words):
        restore(place, forged, moment=MOMENT)
    assert whole(filled) == before
    assert not list(place.folder.glob("before-restore*"))
    assert not list(place.folder.glob(".work*"))


@pytest.mark.exact
def test_a_flipped_bit_in_a_backup_is_found(filled: Store, place: Place, tmp_path: Path) -> None:
    filled.back_up(tmp_path / "b.zip")
    data = bytearray((tmp_path / "b.zip").read_bytes())
    for place_ in (1000, len(data) // 2, len(data) - 3000):
        flipped = bytearray(data)
        flipped[place_] ^= 4
        (tmp_path / "flipped.zip").write_bytes(flipped)
        with pytest.raises(InvalidFile):
            restore(place, tmp_path / "flipped.zip", moment=MOMENT)


@pytest.mark.exact
def test_a_backup_is_no_export_and_an_export_no_backup(
    filled: Store, place: Place, tmp_path: Path
) -> None:
    filled.back_up(tmp_path / "b.zip")
    filled.export_repair("heron-114", tmp_path / "e.zip")
    with pytest.raises(InvalidFile, match="use panelwright restore"):
        filled.import_repair(tmp_path / "b.zip")
    with pytest.raises(InvalidFile, match="use panelwright import"):
        restore(place, tmp_path / "e.zip", moment=MOMENT)


@pytest.mark.exact
def test_a_store_that_is_broken_can_be_backed_up_and_put_back_as_it_was(
    filled: Store, place: Place, tmp_path: Path
) -> None:
    forced(filled, "UPDATE fact SET kind = 'part' WHERE repair = 'heron-115' AND number = 1")
    filled.photo_file(filled.verify().photos[0]).unlink()
    broken = filled.verify().broken
    assert len(broken) == 2
    done = filled.back_up(tmp_path / "b.zip")
    assert done.verified.broken == broken
    assert restore(place, done.path, moment=MOMENT).verified.broken == broken
    assert filled.log("heron-114").facts[:3] == tuple(facts(0, 3))


@pytest.mark.exact
def test_a_database_that_cannot_be_read_is_set_aside(
    new_place: Callable[..., Place], tmp_path: Path
) -> None:
    place = new_place("sqlite")
    with open_store(place) as store:
        store.start("heron-114", facts(0, 3))
        store.back_up(tmp_path / "b.zip")
    place.database.write_bytes(b"not a database" * 1000)
    (kept, *_) = restore(place, tmp_path / "b.zip", moment=MOMENT).kept
    assert kept.read_bytes() == b"not a database" * 1000
    with open_store(place, make=False) as store:
        assert store.log("heron-114").facts == tuple(facts(0, 3))
        assert store.verify().broken == ()


@pytest.mark.exact
def test_a_restore_waits_for_a_writer_and_then_says_so(
    filled: Store, place: Place, tmp_path: Path
) -> None:
    filled.back_up(tmp_path / "b.zip")
    before = whole(filled)
    with filled._writer.connect() as connection:
        connection.execute(text("INSERT INTO repair VALUES ('unfinished', 'now')"))
        with pytest.raises(StoreBusyError, match="another program"):
            restore(place, tmp_path / "b.zip", moment=MOMENT, wait_s=0.2)
        connection.rollback()
    assert whole(filled) == before


@pytest.mark.exact
def test_a_restore_that_fails_half_way_changes_nothing(
    filled: Store, place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled.back_up(tmp_path / "b.zip")
    filled.append("heron-114", [fact(20)])
    before = whole(filled)

    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backing.snapshot, "put", fail)
    with pytest.raises(StoreError, match="is full"):
        restore(place, tmp_path / "b.zip", moment=MOMENT)
    assert whole(filled) == before
