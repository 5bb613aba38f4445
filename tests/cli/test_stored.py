"""Every question takes a stored repair's name where there is no file of that name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Said


@pytest.fixture
def stored(
    panelwright: Callable[..., Said],
    examples: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> str:
    """The Heron, stored in a folder of this test."""
    monkeypatch.setenv("PANELWRIGHT_DATA", str(tmp_path / "data"))
    assert panelwright("import", str(examples / "heron.toml")).status == 0
    return "heron-114"


def test_a_stored_repair_answers_like_its_file(
    panelwright: Callable[..., Said], examples: Path, stored: str
) -> None:
    by_name = panelwright("teardown", stored, "--json")
    by_file = panelwright("teardown", str(examples / "heron.toml"), "--json")
    assert by_name.status == 0
    assert by_name.out == by_file.out


def test_an_unknown_name_says_what_is_stored(panelwright: Callable[..., Said], stored: str) -> None:
    said = panelwright("fit", "heron-999")
    assert said.status == 2
    assert stored in said.err


def test_an_exported_repair_is_a_valid_file(
    panelwright: Callable[..., Said], stored: str, tmp_path: Path
) -> None:
    out = str(tmp_path / "out.toml")
    assert panelwright("export", stored, "-o", out).status == 0
    assert panelwright("check", out).status == 0
