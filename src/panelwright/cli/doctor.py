"""What this installation consists of, and what it lacks."""

from __future__ import annotations

import platform
import sys
from importlib import metadata
from importlib.resources import files
from importlib.util import find_spec
from typing import TYPE_CHECKING

import click

from panelwright import __version__
from panelwright.cli.ask import DONE, UNANSWERED, say_json

if TYPE_CHECKING:
    from collections.abc import Mapping

LIBRARIES = {
    "alembic": "alembic",
    "click": "click",
    "fastapi": "fastapi",
    "jinja2": "jinja2",
    "numpy": "numpy",
    "ortools": "ortools",
    "pillow": "PIL",
    "platformdirs": "platformdirs",
    "pydantic": "pydantic",
    "python-multipart": "python_multipart",
    "rfc8785": "rfc8785",
    "scipy": "scipy",
    "sqlalchemy": "sqlalchemy",
    "tomli-w": "tomli_w",
    "typst": "typst",
    "tzdata": "tzdata",
    "uvicorn": "uvicorn",
    "vl-convert-python": "vl_convert",
}
"""Distribution and module of each library that the program needs."""


def _libraries() -> dict[str, str | None]:
    return {
        name: metadata.version(name) if find_spec(module) else None
        for name, module in LIBRARIES.items()
    }


def _fonts() -> list[str]:
    folder = files("panelwright.record") / "fonts"
    if not folder.is_dir():
        return []
    return sorted(entry.name for entry in folder.iterdir() if entry.name.endswith((".ttf", ".otf")))


def _folders() -> dict[str, str]:
    import platformdirs  # noqa: PLC0415

    return {
        "program": str(files("panelwright")),
        "data": platformdirs.user_data_dir("panelwright", appauthor=False),
    }


def _missing(libraries: Mapping[str, str | None], fonts: list[str]) -> list[str]:
    lacking = [f"library {name}" for name, version in libraries.items() if version is None]
    if not fonts:
        lacking.append("the job file's fonts")
    from zoneinfo import available_timezones  # noqa: PLC0415

    if "Europe/Berlin" not in available_timezones():
        lacking.append("time zones (library tzdata)")
    return lacking


def report(*, as_json: bool) -> int:
    """Print versions, fonts, folders and what is missing; status 1 where something is."""
    libraries, fonts = _libraries(), _fonts()
    folders = _folders() if libraries["platformdirs"] else {}
    missing = _missing(libraries, fonts)
    if as_json:
        say_json(
            {
                "version": __version__,
                "python": platform.python_version(),
                "system": platform.platform(),
                "libraries": libraries,
                "fonts": fonts,
                "folders": folders,
                "missing": missing,
            }
        )
    else:
        click.echo(f"panelwright {__version__} on Python {platform.python_version()}")
        click.echo(f"  {platform.platform()}, {sys.executable}")
        click.echo("Libraries")
        for name, version in libraries.items():
            click.echo(f"  {name:<18} {version or 'MISSING'}")
        click.echo(f"Fonts of the job file\n  {', '.join(fonts) or 'MISSING'}")
        click.echo("Folders")
        for name, path in folders.items():
            click.echo(f"  {name:<18} {path}")
        click.echo(f"Missing: {', '.join(missing) or 'nothing'}")
    return UNANSWERED if missing else DONE
