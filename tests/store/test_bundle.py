"""A repair leaves one store and enters another with log, photos and hashes."""

from __future__ import annotations

import hashlib
import io
import json
import random
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from panelwright.errors import InvalidFile, PanelwrightError, StoreDamagedError, StoreError
from panelwright.store import Place, Store, open_store
from panelwright.store.bundle import read_bundle
from tests.store.making import fact, facts, picture, shows


@pytest.fixture
def filled(store: Store) -> Store:
    """A repair that shows two photos; a third is shown by nothing."""
    store.start("heron-114", facts(0, 3))
    for number in (1, 2):
        store.append("heron-114", [shows(10 + number, store.add_photo(picture(number)).sha256)])
    store.add_photo(picture(3))
    return store


def bundle(store: Store, name: str = "heron-114") -> bytes:
    file = io.BytesIO()
    store.write_bundle(name, file)
    return file.getvalue()


def packed(members: dict[str, bytes], *, kind: str = "repair", **changed: object) -> bytes:
    """An archive with a list that fits it, unless changed."""
    log = members.get("log.jsonl", b"")
    last = json.loads(log.splitlines()[-1])["hash"] if log.strip(b"\0") else "0" * 64
    manifest: dict[str, object] = {
        "format": 1,
        "kind": kind,
        "program": "0.1.0",
        "repairs": [{"name": "heron-114", "facts": len(log.splitlines()), "head": last}],
        "files": {
            name: {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}
            for name, data in members.items()
        },
    }
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("manifest.json", json.dumps(manifest | changed))
        for name, data in members.items():
            archive.writestr(name, data, zipfile.ZIP_STORED if name.endswith(".jpg") else None)
    return file.getvalue()


def members_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != "manifest.json"}


@pytest.mark.invariant
@pytest.mark.parametrize("other", ["sqlite", "postgresql"])
def test_log_photos_and_hashes_are_the_same_in_another_store(
    filled: Store, new_place: Callable[..., Place], other: str, tmp_path: Path
) -> None:
    target = tmp_path / "heron.zip"
    filled.export_repair("heron-114", target)
    with open_store(new_place(other)) as second:
        done = second.import_repair(target)
        assert (done.name, done.appended.added, done.photos) == ("heron-114", 5, 2)
        assert second.log("heron-114") == filled.log("heron-114")
        assert second.verify().broken == ()
        assert len(second.verify().photos) == 2
        assert bundle(second) == target.read_bytes() == bundle(filled)
        again = second.import_repair(target)
        assert again.appended.added == 0


@pytest.mark.exact
def test_a_longer_log_goes_on_where_the_stored_one_ends(filled: Store) -> None:
    short = bundle(filled)
    filled.append("heron-114", facts(20, 2))
    long = bundle(filled)
    filled.import_repair(io.BytesIO(short), name="copy")
    assert filled.import_repair(io.BytesIO(long), name="copy").appended.added == 2
    assert filled.import_repair(io.BytesIO(short), name="copy").appended.added == 0
    assert filled.log("copy") == filled.log("heron-114")


@pytest.mark.exact
def test_two_logs_that_parted_are_not_mixed(filled: Store) -> None:
    was = bundle(filled)
    filled.import_repair(io.BytesIO(was), name="copy")
    filled.append("heron-114", [fact(20)])
    filled.append("copy", [fact(21)])
    with pytest.raises(InvalidFile, match=r"something else from entry 5 on.*--as NAME"):
        filled.import_repair(io.BytesIO(bundle(filled)), name="copy")
    assert len(filled.log("copy").entries) == 6


@pytest.mark.exact
def test_a_bad_name_leaves_no_photo_behind(
    filled: Store, new_place: Callable[..., Place], kind: str
) -> None:
    with open_store(new_place(kind)) as second:
        with pytest.raises(StoreError, match="no name for a repair"):
            second.import_repair(io.BytesIO(bundle(filled)), name="../x")
        assert second.verify().photos == ()


@pytest.mark.exact
def test_a_photo_that_broke_stops_the_export_and_leaves_no_file(
    filled: Store, tmp_path: Path
) -> None:
    shown = filled.log("heron-114").facts[-1].body["sha256"]
    filled.photo_file(str(shown)).unlink()
    with pytest.raises(StoreDamagedError, match="is gone"):
        filled.export_repair("heron-114", tmp_path / "out.zip")
    assert list(tmp_path.glob("*out.zip*")) == []


def hostile() -> dict[str, tuple[bytes, str]]:
    log = b"".join(_log_lines())
    photo = picture(1)
    name = _named(photo)
    good = {"log.jsonl": log}
    told = _with_comment()
    twice = io.BytesIO(packed(good))
    with zipfile.ZipFile(twice, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("log.jsonl", log)
    changed = log.replace(b"Kim", b"Ada", 1)
    unlisted = {"log.jsonl": {"sha256": "0" * 64, "size": len(log)}}
    return {
        "no zip": (b"hello", "no archive of ours"),
        "empty": (b"", "no archive of ours"),
        "cut short": (packed(good)[:-30], "no archive of ours"),
        "other zip": (_zip({"readme.txt": b"hello"}), "has no manifest.json"),
        "a path in a name": (packed({**good, "../../x.jpg": photo}), "manifest.json files"),
        "an absolute path": (packed({**good, "/etc/passwd": b""}), "manifest.json files"),
        "not listed": (packed({**good, name: photo}, files={}), "there and not listed"),
        "listed and missing": (
            packed({}, files={"log.jsonl": {"sha256": "0" * 64, "size": 1}}),
            "listed and not there",
        ),
        "other hash": (packed(good, files=unlisted), "its hash differs"),
        "two of one name": (twice.getvalue(), "two files of one name"),
        "no log": (packed({name: photo}), "holds no log"),
        "changed log": (packed({"log.jsonl": changed}), "not the one that was hashed"),
        "log cut short": (packed({"log.jsonl": log[:-1]}), "cut short"),
        "fewer entries than listed": (
            packed(good, repairs=[{"name": "a", "facts": 9, "head": "0" * 64}]),
            "does not end as listed",
        ),
        "photo with a comment": (packed({**good, _named(told): told}), "more than a picture"),
        "photo with something behind it": (
            packed({**good, _named(photo + b"secret"): photo + b"secret"}),
            "more than a picture",
        ),
        "photo that swells": (
            _pressed(packed({**good, name: photo})),
            "packed in a way that we do not write",
        ),
        "photo that is none": (
            packed({**good, _named(b"x"): b"x"}),
            "no JPEG picture",
        ),
        "photo of another hash": (
            packed({**good, f"photos/{'0' * 64}.jpg": photo}),
            "not the photo of that hash",
        ),
        "backup": (packed(good, kind="backup"), "use panelwright restore"),
        "later format": (packed(good, format=2), "manifest.json format"),
        "name of no repair": (
            packed(good, repairs=[{"name": "../x", "facts": 2, "head": "0" * 64}]),
            "manifest.json repairs",
        ),
        "list that is none": (_zip({"manifest.json": b"[]"}), "manifest.json"),
        "list that is no JSON": (_zip({"manifest.json": b"\xff"}), "manifest.json"),
        "lying size": (_lying(packed(good), len(log)), "broken|are listed"),
    }


def _named(photo: bytes) -> str:
    return f"photos/{hashlib.sha256(photo).hexdigest()}.jpg"


def _with_comment() -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (8, 8)).save(file, "JPEG", comment=b"secret")
    return file.getvalue()


def _zip(members: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return file.getvalue()


def _pressed(data: bytes) -> bytes:
    """The same with every member pressed."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(file, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name), zipfile.ZIP_DEFLATED)
    return file.getvalue()


def _lying(data: bytes, size: int) -> bytes:
    """Let both headers of the log say that it is smaller than it unpacks to."""
    return data.replace(struct.pack("<I", size), struct.pack("<I", size - 5))


def _log_lines() -> list[bytes]:
    from panelwright.facts.log import Log, log_bytes  # noqa: PLC0415

    return log_bytes(Log().extend(facts(0, 2))).splitlines(keepends=True)


HOSTILE = hostile()


@pytest.mark.exact
@pytest.mark.parametrize(("data", "words"), HOSTILE.values(), ids=HOSTILE)
def test_what_is_not_what_was_exported_is_refused_in_words(data: bytes, words: str) -> None:
    with pytest.raises(InvalidFile, match=words):
        read_bundle(io.BytesIO(data))


@pytest.mark.exact
def test_a_log_that_unpacks_to_more_than_anybody_writes_is_not_unpacked() -> None:
    bomb = packed({"log.jsonl": bytes(64_000_001)})
    assert len(bomb) < 100_000
    with pytest.raises(InvalidFile, match="has 64 MB; at most 64"):
        read_bundle(io.BytesIO(bomb))


@pytest.mark.exact
def test_the_archive_of_the_tests_is_one_that_is_taken() -> None:
    assert (
        len(read_bundle(io.BytesIO(packed({"log.jsonl": b"".join(_log_lines())}))).log.facts) == 2
    )


@pytest.mark.exact
def test_a_file_that_is_not_there_is_told(store: Store, tmp_path: Path) -> None:
    with pytest.raises(InvalidFile, match=r"no.zip: cannot be read: no such file"):
        store.import_repair(tmp_path / "no.zip")
    with pytest.raises(InvalidFile, match="cannot be read: is a directory"):
        store.import_repair(tmp_path)


@pytest.mark.invariant
@settings(
    max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.integers(0, 2**32), st.integers(1, 8))
def test_an_archive_with_changed_bytes_is_the_same_or_refused(seed: int, count: int) -> None:
    whole = packed({"log.jsonl": b"".join(_log_lines())})
    chosen = random.Random(seed)  # noqa: S311
    data = bytearray(whole)
    for _ in range(count):
        data[chosen.randrange(len(data))] = chosen.randrange(256)
    try:
        found = read_bundle(io.BytesIO(bytes(data)))
    except PanelwrightError as refused:
        assert str(refused)  # noqa: PT017
    else:
        assert found.log == read_bundle(io.BytesIO(whole)).log
