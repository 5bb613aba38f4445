"""The commented starter file."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

import click

from panelwright.cli.ask import DONE
from panelwright.errors import PanelwrightError

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,79}")


def starter(name: str, opened: str | None = None) -> str:
    """Text of a starter file.

    `name` is the repair's name: letters, digits, dash. `opened` is a time with offset; without it
    the line stands there switched off.
    """
    if not _NAME.fullmatch(name):
        raise PanelwrightError(
            f"{name!r} is no name for a repair; use letters, digits and dash, such as van-114"
        )
    line = f"opened = {opened}" if opened else "# opened = 2026-01-31T08:10:00+01:00"
    text = (files("panelwright.cli") / "starter.toml").read_text(encoding="utf-8")
    return text.replace("@name@", name).replace("@opened@", line)


def _name_from(path: str) -> str:
    stem = re.sub(r"[^A-Za-z0-9]+", "-", Path(path).stem).strip("-")
    return stem[:80] or "repair"


def write(path: str, name: str | None, *, force: bool) -> int:
    """Write the starter file where it does not overwrite anything unasked."""
    if path == "-":
        click.echo(starter(name or "repair"), nl=False)
        return DONE
    text = starter(name or _name_from(path))
    target = Path(path)
    if target.exists() and not force:
        raise PanelwrightError(f"{path} is there already; choose another name, or --force")
    try:
        target.write_text(text, encoding="utf-8")
    except OSError as error:
        raise PanelwrightError(f"{path} cannot be written: {error.strerror}") from error
    click.echo(f"Wrote {path}. Fill it in, then: panelwright check {path}")
    return DONE
