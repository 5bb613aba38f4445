"""The commands of the store say what they did, in one line where that is enough."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from panelwright.cli.stored import COMMANDS
from panelwright.store import Place, Store, open_store
from tests.store.making import fact, facts, forced, picture, shows

TOML = "format = 1\n[repair]\nname = 'heron-7'\n[[part]]\nid = 'outer'\n"


class Said:
    """What a command printed and how it ended."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err


@pytest.fixture
def run(place: Place) -> Callable[..., Said]:
    """Runs a command on the place; a traceback fails the test."""
    group = click.Group(commands={str(one.name): one for one in COMMANDS})
    where = {"PANELWRIGHT_DATA": str(place.folder), "PANELWRIGHT_DATABASE": place.url}

    def command(*arguments: str | Path, stdin: str | None = None) -> Said:
        words = [str(word) for word in arguments]
        done = CliRunner(env=where).invoke(group, words, input=stdin, catch_exceptions=False)
        return Said(done.exit_code, done.stdout, done.stderr)

    return command


@pytest.fixture
def filled(place: Place) -> None:
    with open_store(place) as store:
        store.start("heron-114", facts(0, 3))
        store.append("heron-114", [shows(10, store.add_photo(picture(1)).sha256)])


def whole(place: Place) -> Store:
    return open_store(place, make=False)


@pytest.mark.exact
@pytest.mark.parametrize("words", [["list"], ["verify"], ["export", "x"], ["backup", "b.zip"]])
def test_without_a_store_they_say_how_to_begin(
    run: Callable[..., Said], place: Place, words: list[str]
) -> None:
    done = run(*words)
    assert done.status == 2
    assert "nothing is stored in" in done.err
    assert "`panelwright import FILE` begins" in done.err
    assert not place.folder.exists()


@pytest.mark.exact
def test_a_repair_file_is_imported_once(run: Callable[..., Said], tmp_path: Path) -> None:
    (tmp_path / "r.toml").write_text(TOML)
    first = run("import", tmp_path / "r.toml", "--by", "Kim")
    assert (first.status, first.err) == (0, "")
    assert first.out.startswith("heron-7: 2 facts stored; log ends with ")
    assert "0 facts stored, 2 were there already" in run("import", tmp_path / "r.toml").out
    assert "heron-8: 2 facts stored" in run("import", "-", "--as", "heron-8", stdin=TOML).out
    changed = run("import", "-", stdin=TOML + "[[part]]\nid = 'inner'\n")
    assert changed.status == 2
    assert "there is a repair 'heron-7' already" in changed.err


@pytest.mark.exact
def test_a_broken_repair_file_is_told_and_nothing_stored(run: Callable[..., Said]) -> None:
    done = run("import", "-", stdin=TOML + "weight = 3\n")
    assert done.status == 2
    assert "weight" in done.err
    assert "No repair is stored yet" in run("list").out


@pytest.mark.exact
def test_the_list(run: Callable[..., Said], filled: None) -> None:
    assert filled is None
    out = run("list").out
    assert "heron-114      4  2026-11-20 08:10 +0000" in out
    (row,) = json.loads(run("list", "--json").out)["repairs"]
    assert (row["name"], row["facts"]) == ("heron-114", 4)
    assert row["recorded_at"] == "2026-11-20T08:10:10+00:00"


@pytest.mark.usefixtures("filled")
@pytest.mark.exact
def test_export_in_each_form(run: Callable[..., Said], place: Place, tmp_path: Path) -> None:
    for ending in ("zip", "jsonl", "toml"):
        done = run("export", "heron-114", "-o", tmp_path / f"x.{ending}")
        assert done.out == f"{tmp_path / 'x'}.{ending}: heron-114 with 4 facts\n"
    with whole(place) as store:
        assert (tmp_path / "x.toml").read_text() == store.resolve("heron-114").text
    assert run("export", "heron-114", "-o", "-").out == (tmp_path / "x.toml").read_text()
    assert "is there already" in run("export", "heron-114", "-o", tmp_path / "x.zip").err
    assert run("export", "heron-114", "-o", tmp_path / "x.zip", "--force").status == 0
    assert "expected a name that ends in" in run("export", "heron-114", "-o", "x.pdf").err
    assert "there are heron-114" in run("export", "heron-1", "-o", tmp_path / "y.zip").err
    assert "4 facts stored, 1 photo;" in run("import", tmp_path / "x.zip", "--as", "copy").out
    jsonl = run("import", tmp_path / "x.jsonl", "--as", "third")
    assert "4 facts stored;" in jsonl.out
    with whole(place) as store:
        assert store.log("copy") == store.log("third") == store.log("heron-114")


@pytest.mark.usefixtures("filled")
@pytest.mark.exact
def test_backup_and_restore(run: Callable[..., Said], place: Place, tmp_path: Path) -> None:
    done = run("backup", tmp_path / "b.zip")
    assert done.out == f"{tmp_path / 'b.zip'}: 1 repair, 4 facts, 1 photo\n"
    assert "is there already" in run("backup", tmp_path / "b.zip").err
    with whole(place) as store:
        store.append("heron-114", [fact(20)])
    back = run("restore", tmp_path / "b.zip")
    assert back.status == 0
    assert back.out.startswith("Restored: 1 repair, 4 facts, 1 photo.\nWhat was stored before is")
    assert run("restore", back.out.split()[-1]).out.startswith("Restored: 1 repair, 5 facts")
    assert "cannot be read" in run("restore", tmp_path / "no.zip").err


@pytest.mark.usefixtures("filled")
@pytest.mark.exact
def test_verify_says_which_entry_broke(run: Callable[..., Said], place: Place) -> None:
    done = run("verify")
    assert (done.status, done.out) == (0, "Looked at 1 repair, 4 facts, 1 photo.\n")
    with whole(place) as store:
        forced(store, "UPDATE fact SET kind = 'part' WHERE number = 2")
    broken = run("verify")
    assert broken.status == 2
    assert "1 broken:\n  heron-114, entry 2: its row says kind 'part'" in broken.err
    (one,) = json.loads(run("verify", "--json").out)["broken"]
    assert (one["repair"], one["number"]) == ("heron-114", 2)
