"""What every release wrote can be opened by this version."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from panelwright import __version__
from panelwright.facts.fold import fold
from panelwright.facts.log import log_bytes, log_from
from panelwright.quantities import Units
from panelwright.store import Person, Place, Theme, open_store, restore
from tests.store.conftest import MOMENT

RELEASES = Path(__file__).with_name("releases")
FOLDERS = sorted(path for path in RELEASES.iterdir() if (path / "expected.json").is_file())
NAME = "heron-114"

release = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: str(folder.name))


def expected(folder: Path) -> dict[str, dict[str, object]]:
    told: dict[str, dict[str, object]] = json.loads((folder / "expected.json").read_text())
    return told


@pytest.mark.exact
def test_this_version_is_among_them() -> None:
    assert __version__ in {folder.name for folder in FOLDERS}, "run tests.store.releases.make"


@pytest.mark.exact
@release
def test_its_log_is_read_and_written_byte_for_byte(folder: Path) -> None:
    data = (folder / f"{NAME}.jsonl").read_bytes()
    log = log_from(data)
    assert log_bytes(log) == data
    told = expected(folder)
    assert log.head == told["heads"][NAME]
    folded = fold(log)
    assert [part.id for part in folded.repair.parts] == told["parts"]
    assert {str(one) for one in folded.withdrawn} == {told["withdrawn"]}


@pytest.mark.exact
@release
def test_its_backup_is_restored(place: Place, folder: Path) -> None:
    told = expected(folder)
    assert restore(place, folder / "backup.zip", moment=MOMENT).verified.broken == ()
    with open_store(place, make=False) as store:
        assert {one.name: one.head for one in store.repairs()} == told["heads"]
        assert {one.name: one.facts for one in store.repairs()} == told["facts"]
        assert store.people() == (Person("Kim", Units.IN, Theme.DARK),)
        assert store.verify().photos == (told["photo"],)
        assert store.since(0)[0].repair == NAME


@pytest.mark.exact
@release
def test_its_export_is_imported(new_place: Callable[..., Place], kind: str, folder: Path) -> None:
    told = expected(folder)
    with open_store(new_place(kind)) as store:
        done = store.import_repair(folder / f"{NAME}.zip")
        assert (done.appended.log_head, done.photos) == (told["heads"][NAME], 1)
        assert store.photo_file(str(told["photo"])).is_file()
        assert store.resolve(NAME).repair.parts
