"""Every answer on one screen."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

import click

from panelwright.cli.ask import DONE, UNANSWERED, say_json
from panelwright.cli.load import load
from panelwright.cli.text import bullet, wrap
from panelwright.quantities import Units

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.record import Answers

TITLES = {
    "plan": "When",
    "teardown": "Comes off",
    "fit": "Where it sits",
    "joints": "Joints",
    "bond": "Holds",
    "quiet": "Quiet",
}
"""Rooms in the order of the screen."""


def _lines(repair: Repair, answers: Answers, room: str, units: Units) -> list[str]:
    from panelwright.cli.pages import overview as digest  # noqa: PLC0415
    from panelwright.record import Unanswered  # noqa: PLC0415

    found = getattr(answers, room)
    if isinstance(found, Unanswered):
        return [f"not answered: {why}" for why in found.why]
    lines: list[str] = getattr(digest, room)(repair, found, units)
    return lines or ["nothing to say"]


def _status(answers: Answers) -> int:
    from panelwright.record import Unanswered  # noqa: PLC0415

    found = [getattr(answers, room) for room in TITLES]
    return UNANSWERED if all(isinstance(answer, Unanswered) for answer in found) else DONE


def say(repair: Repair, answers: Answers, units: Units) -> int:
    """Print every answer in a few lines; 1 where none could be given."""
    mark = " — invented data" if repair.repair.invented else ""
    title = " · ".join(text for text in (repair.name, repair.vehicle.label) if text)
    click.echo(click.style(f"{title}{mark}", bold=True))
    for room, heading in TITLES.items():
        click.echo(click.style(heading, bold=True))
        for line in _lines(repair, answers, room, units):
            inner = line.lstrip()
            indent = 2 + len(line) - len(inner)
            click.echo(bullet(inner, indent=indent) if indent == 2 else wrap(inner, indent=indent))
    click.echo("An aid, not an approval: the vehicle maker's procedure governs.")
    return _status(answers)


def _published(answers: Answers, room: str) -> object:
    from panelwright.record import Unanswered  # noqa: PLC0415

    found = getattr(answers, room)
    if isinstance(found, Unanswered):
        return {"unanswered": list(found.why)}
    content: object = import_module(f"panelwright.{room}.published").as_json(found)
    return content


def overview(file: str, units: str, *, as_json: bool = False) -> int:
    """Load a repair and say every answer: in a few lines each, or whole as JSON."""
    from panelwright.record import gather  # noqa: PLC0415

    repair = load(file)
    answers = gather(repair)
    if not as_json:
        return say(repair, answers, Units(units))
    say_json({room: _published(answers, room) for room in TITLES})
    return _status(answers)
