"""What the README shows is what the program says."""

from __future__ import annotations

import re
from pathlib import Path

from panelwright.cli.main import cli
from panelwright.cli.pages.fit import page
from panelwright.facts.file import read
from panelwright.fit import answer
from panelwright.quantities import Units

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_worked_result_is_what_the_fit_says() -> None:
    shown = re.search(r"```text\n(.*?)```", README, re.DOTALL)
    assert shown
    heron = read((ROOT / "examples" / "heron.toml").read_text(encoding="utf-8"))
    said = page(answer(heron), Units.MM).splitlines()
    lines = [line for line in shown.group(1).splitlines() if line not in {"", "…"}]
    assert lines
    assert [line for line in lines if line not in said] == []


def test_every_command_is_in_the_readme() -> None:
    missing = [name for name in cli.commands if f"panelwright {name}" not in README]
    assert missing == []


def test_every_picture_of_the_readme_is_there() -> None:
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README)
    assert pictures
    assert [path for path in pictures if not (ROOT / path).is_file()] == []
