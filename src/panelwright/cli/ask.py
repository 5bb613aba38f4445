"""Ask one room its question and say the answer as a page or as JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from panelwright.errors import InvalidFile, PanelwrightError, Unanswerable

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from panelwright.facts.problem import Question
    from panelwright.facts.repair import Repair
    from panelwright.quantities import Units

DONE, UNANSWERED, INVALID = 0, 1, 2
"""Exit statuses: answered; not answerable from this repair; wrong usage or invalid file."""


def say_json(content: object) -> None:
    """Print one JSON object; a number that is not finite is a defect and stops the command."""
    click.echo(json.dumps(content, ensure_ascii=False, allow_nan=False, indent=2))


def _refuse(heading: str, lines: Sequence[tuple[str, str]], key: str, *, as_json: bool) -> None:
    if as_json:
        say_json(
            {key: [{"where": where, "what": what} for where, what in lines]}
            if key == "problems"
            else {key: [what for _, what in lines]}
        )
        return
    click.echo(heading, err=True)
    for where, what in lines:
        click.echo(f"  {where}: {what}" if where else f"  {what}", err=True)


def guarded(work: Callable[[], int], *, as_json: bool) -> int:
    """Run a command's work and turn its errors into words and an exit status."""
    try:
        return work()
    except InvalidFile as error:
        count = len(error.problems)
        heading = f"This file has {count} problem{'s' if count != 1 else ''}:"
        _refuse(heading, error.problems, "problems", as_json=as_json)
        return INVALID
    except Unanswerable as error:
        lines = [("", why) for why in error.why]
        _refuse("This cannot be answered yet:", lines, "unanswered", as_json=as_json)
        return UNANSWERED
    except PanelwrightError as error:
        _refuse("This did not work:", [("", str(error))], "problems", as_json=as_json)
        return INVALID


def _left_out(repair: Repair, question: Question, units: Units) -> str:
    from panelwright.cli.text import bullets, heading  # noqa: PLC0415
    from panelwright.quantities import in_units  # noqa: PLC0415

    soft = [
        f"{problem.where}: {in_units(problem.what, units)}"
        for problem in repair.problems
        if question not in problem.blocks
    ]
    if not soft:
        return ""
    return f"{heading('Also wrong in this file')}\n{bullets(soft)}\n"


def say(
    content: Callable[[], Mapping[str, object]],
    page: Callable[[Units], str],
    repairs: Sequence[Repair],
    question: Question,
    *,
    as_json: bool,
    units: str,
) -> int:
    """Print an answer in the form asked for; problems the question did not need come last."""
    from panelwright.quantities import Units  # noqa: PLC0415

    if as_json:
        say_json(content())
        return DONE
    click.echo(page(Units(units)), nl=False)
    for repair in repairs:
        click.echo(_left_out(repair, question, Units(units)), nl=False)
    return DONE
