"""The demonstration repair: every answer on one screen, and its job file."""

from __future__ import annotations

from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from pathlib import Path

import click

from panelwright.cli import job_file, overview
from panelwright.cli.load import load
from panelwright.errors import PanelwrightError
from panelwright.quantities import Units


def _example(name: str) -> Traversable:
    """An example as the wheel carries it, or as the checkout holds it."""
    shipped = files("panelwright") / "examples" / name
    if shipped.is_file():
        return shipped
    beside = Path(__file__).resolve().parents[3] / "examples" / name
    if beside.is_file():
        return beside
    raise PanelwrightError(f"the demonstration file {name} is not part of this installation")


def run(output: str, units: str) -> int:
    """Print the demonstration's answers and write its job file."""
    from panelwright.record import gather, warm_up  # noqa: PLC0415

    with as_file(_example("heron.toml")) as path:
        repair = load(str(path))
    warm_up()  # the charts' engine starts while the rooms compute
    answers = gather(repair)
    status = overview.say(repair, answers, Units(units))
    click.echo()
    return job_file.put(repair, answers, output, job_file.Wishes(units=units)) or status
