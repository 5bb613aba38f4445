"""The panelwright command. Heavy imports wait inside the commands that need them."""

from __future__ import annotations

import os
import sys
from datetime import datetime
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, Any

import click

from panelwright import __version__
from panelwright.cli import serve as _serve
from panelwright.cli import stored as _stored
from panelwright.cli.ask import DONE, INVALID, UNANSWERED, guarded, say, say_json

if TYPE_CHECKING:
    from collections.abc import Callable

FILE = click.argument("file", metavar="FILE")
JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
UNITS = click.option(
    "--units",
    type=click.Choice(["mm", "in"]),
    default="mm",
    show_default=True,
    help="Lengths on the page; JSON is always in millimetres.",
)


class Moment(click.ParamType[datetime]):
    """A date and time with its offset from UTC."""

    name = "time"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime:
        """Read ISO 8601 with an offset."""
        if isinstance(value, datetime):
            return value
        try:
            moment = datetime.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no time; write it as 2026-11-20T13:05:00+01:00", param, ctx)
        if moment.tzinfo is None:
            self.fail(f"{value!r} has no offset from UTC; write {value}+01:00", param, ctx)
        return moment


AS_OF = click.option(
    "--as-of",
    type=Moment(),
    metavar="TIME",
    help="Answer as of this time, such as 2026-11-20T13:05:00+01:00; left out: as the facts stand.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96})
@click.version_option(__version__, prog_name="panelwright")
def cli() -> None:
    """Rivet-bonded aluminium panels: what comes off, where it goes, when it holds.

    Every question takes a repair file, or a stored repair's name. Exit status: 0 answered, 1 this
    repair does not hold what the question needs (it says what), 2 wrong usage or invalid file.

    An aid, not an approval: the vehicle maker's procedure governs.
    """


def _finish(ctx: click.Context, status: int) -> None:
    sys.stdout.flush()
    ctx.exit(status)


@cli.command()
@FILE
@JSON
@click.pass_context
def check(ctx: click.Context, file: str, as_json: bool) -> None:
    """Say everything that is wrong with a repair file."""
    _finish(ctx, guarded(partial(_check, file, as_json=as_json), as_json=as_json))


def _check(file: str, *, as_json: bool) -> int:
    from panelwright.cli.load import text_of  # noqa: PLC0415
    from panelwright.facts.file import problems_of  # noqa: PLC0415

    problems = problems_of(text_of(file))
    if as_json:
        say_json({"problems": [{"where": p.where, "what": p.what} for p in problems]})
    elif problems:
        click.echo(f"{file}: {len(problems)} to mend")
        for problem in problems:
            click.echo(f"  {problem.where}: {problem.what}")
    else:
        click.echo(f"{file}: nothing to mend.")
    return INVALID if problems else DONE


def _room(room: str, file: str, *, as_json: bool, units: str) -> int:
    from panelwright.cli.load import load_for  # noqa: PLC0415
    from panelwright.facts.problem import Question  # noqa: PLC0415

    question = Question(room)
    repair = load_for(file, question)
    answer = import_module(f"panelwright.{room}").answer(repair)

    def content() -> dict[str, object]:
        published = import_module(f"panelwright.{room}.published")
        keys: dict[str, object] = published.as_json(answer)
        return keys

    def page(shown: object) -> str:
        text: str = import_module(f"panelwright.cli.pages.{room}").page(answer, shown)
        return text

    return say(content, page, [repair], question, as_json=as_json, units=units)


def _room_command(room: str, doc: str) -> Callable[..., None]:
    @cli.command(name=room, help=doc)
    @FILE
    @JSON
    @UNITS
    @click.pass_context
    def command(ctx: click.Context, file: str, as_json: bool, units: str) -> None:
        work = partial(_room, room, file, as_json=as_json, units=units)
        _finish(ctx, guarded(work, as_json=as_json))

    return command


teardown = _room_command("teardown", "What must come off, in which order, where to look behind.")
joints = _room_command("joints", "How each joint is made again: rivets, adhesive, strength.")
fit = _room_command("fit", "Whether the panel is where it belongs, and which way to move it.")


@cli.command()
@FILE
@AS_OF
@JSON
@UNITS
@click.pass_context
def bond(ctx: click.Context, file: str, as_of: datetime | None, as_json: bool, units: str) -> None:
    """How long the adhesive can be worked, whether closing fits in it, and when it holds."""
    work = partial(_bond, file, as_of, as_json=as_json, units=units)
    _finish(ctx, guarded(work, as_json=as_json))


def _bond(file: str, as_of: datetime | None, *, as_json: bool, units: str) -> int:
    from panelwright.cli.bond import answered  # noqa: PLC0415

    return answered(file, as_of, as_json_=as_json, units=units)


@cli.command()
@FILE
@click.argument("joint", metavar="JOINT")
@JSON
@UNITS
@click.pass_context
def lamp(ctx: click.Context, file: str, joint: str, as_json: bool, units: str) -> None:
    """Where to put a lamp before one joint, how far off, how long, when to move it."""
    _finish(
        ctx, guarded(partial(_lamp, file, joint, as_json=as_json, units=units), as_json=as_json)
    )


def _lamp(file: str, joint: str, *, as_json: bool, units: str) -> int:
    from panelwright.bond.lamp_answer import lamp_answer  # noqa: PLC0415
    from panelwright.bond.lamp_words import as_json as published  # noqa: PLC0415
    from panelwright.cli.load import load_for  # noqa: PLC0415
    from panelwright.cli.pages.lamp import page  # noqa: PLC0415
    from panelwright.facts.problem import Question  # noqa: PLC0415

    repair = load_for(file, Question.BOND)
    found = lamp_answer(repair, joint)
    return say(
        partial(published, found),
        partial(page, found),
        [repair],
        Question.BOND,
        as_json=as_json,
        units=units,
    )


quiet = _room_command("quiet", "Sound pads: coverage, mass, sheets to cut.")


@cli.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@AS_OF
@JSON
@UNITS
@click.pass_context
def plan(
    ctx: click.Context,
    files: tuple[str, ...],
    as_of: datetime | None,
    as_json: bool,
    units: str,
) -> None:
    """When it is done, what it needs, and what to do while it sets. Takes several repairs."""
    work = partial(_plan, files, as_of, as_json=as_json, units=units)
    _finish(ctx, guarded(work, as_json=as_json))


def _plan(files: tuple[str, ...], as_of: datetime | None, *, as_json: bool, units: str) -> int:
    from panelwright.cli.load import load_for  # noqa: PLC0415
    from panelwright.cli.pages.plan import page  # noqa: PLC0415
    from panelwright.facts.problem import Question  # noqa: PLC0415
    from panelwright.plan import answer  # noqa: PLC0415
    from panelwright.plan.answer import Status  # noqa: PLC0415
    from panelwright.plan.published import as_json as published  # noqa: PLC0415

    repairs = [load_for(file, Question.PLAN) for file in files]
    found = answer(repairs, as_of=as_of)
    status = say(
        partial(published, found),
        partial(page, found),
        repairs,
        Question.PLAN,
        as_json=as_json,
        units=units,
    )
    return UNANSWERED if found.status is Status.INFEASIBLE else status


@cli.command()
@FILE
@click.option("-o", "--output", metavar="OUT.pdf", required=True, help="Where the job file goes.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper."
)
@AS_OF
@click.option(
    "--before",
    metavar="FILE",
    help="The same repair before more damage was found: adds the supplement for the office.",
)
@JSON
@UNITS
@click.pass_context
def record(ctx: click.Context, /, file: str, output: str, as_json: bool, **wishes: Any) -> None:
    """Write the job file as PDF."""
    from panelwright.cli.job_file import Wishes, write  # noqa: PLC0415

    work = partial(write, file, output, Wishes(**wishes), as_json=as_json)
    _finish(ctx, guarded(work, as_json=as_json))


@cli.command()
@FILE
@JSON
@UNITS
@click.pass_context
def overview(ctx: click.Context, file: str, as_json: bool, units: str) -> None:
    """Every answer on one screen."""
    from panelwright.cli.overview import overview as whole  # noqa: PLC0415

    work = partial(whole, file, units, as_json=as_json)
    _finish(ctx, guarded(work, as_json=as_json))


@cli.command()
@click.option("-o", "--output", metavar="OUT.pdf", default="heron.pdf", show_default=True)
@UNITS
@click.pass_context
def demo(ctx: click.Context, output: str, units: str) -> None:
    """Show the demonstration repair (invented data) and write its job file."""
    from panelwright.cli.demo import run  # noqa: PLC0415

    _finish(ctx, guarded(partial(run, output, units), as_json=False))


@cli.command()
@click.argument("file", metavar="FILE")
@click.option("--name", default=None, help="The repair's name: letters, digits, dash.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.pass_context
def new(ctx: click.Context, file: str, name: str | None, force: bool) -> None:
    """Write a commented starter file (``-`` prints it)."""
    from panelwright.cli.starter import write  # noqa: PLC0415

    _finish(ctx, guarded(partial(write, file, name, force=force), as_json=False))


@cli.command()
def schema() -> None:
    """Print the repair file's JSON Schema."""
    from panelwright.facts.schema import schema as whole  # noqa: PLC0415

    say_json(whole())


@cli.command()
@JSON
@click.pass_context
def doctor(ctx: click.Context, as_json: bool) -> None:
    """Print versions, fonts, folders, and what is missing."""
    from panelwright.cli.doctor import report  # noqa: PLC0415

    _finish(ctx, report(as_json=as_json))


for stored in (
    _stored.import_,
    _stored.export,
    _stored.list_,
    _stored.backup,
    _stored.restore,
    _stored.verify,
    _serve.serve,
):
    cli.add_command(stored)


def main() -> None:
    """Run the command line; a closed pipe ends it quietly."""
    # One thread is faster at a repair's sizes, and several commands may run side by side.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        cli.main(prog_name="panelwright")
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)


if __name__ == "__main__":
    main()
