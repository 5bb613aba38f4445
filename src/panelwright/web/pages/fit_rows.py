"""Readings from a table: pasted, or uploaded as a file of comma-separated values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from panelwright.errors import InvalidFile
from panelwright.facts.identity import uuid7
from panelwright.web.fit_rows import COLUMNS, Bad, Table, table_of
from panelwright.web.fit_stages import stages_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, facts_of, save

if TYPE_CHECKING:
    from collections.abc import Sequence

router = APIRouter()
PAGE = Page("fit/rows", "", 53, router)

MOST_TEXT = 200_000
MOST_BAD = 50


@router.get("/repairs/{name}/fit/rows")
def rows(there: AtRepair) -> Response:
    """Show what columns there are, and where the table goes."""
    return page(there, Form())


def page(there: There, form: Form, bad: Sequence[Bad] = ()) -> Response:
    """Show the page, with the rows that cannot be taken."""
    stages = stages_of(there.known.repair)
    return show(
        there,
        "fit_rows.html",
        form=form,
        heading="Readings from a table",
        path=there.path("fit"),
        again=there.path("fit/rows"),
        columns=tuple(COLUMNS.items()),
        stages=[(stage.key, stage.words) for stage in stages.for_read(is_of_points=True)],
        now_stage=stages.now.key,
        bad=tuple(bad)[:MOST_BAD],
        more=max(len(bad) - MOST_BAD, 0),
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/rows")
async def take(there: AtRepair, form: Sent) -> Response:
    """Store every row of a table, or none and say what is wrong with which."""
    sent = form.files.get("file")
    data = await sent.read(MOST_TEXT + 1) if sent is not None else b""
    return await run_in_threadpool(_take, there, form, data)


def _take(there: There, form: Form, data: bytes) -> Response:
    uploaded(form, data)
    text = form.text("rows", need="Paste a table or choose a file.", most=MOST_TEXT)
    stages = stages_of(there.known.repair)
    every = [stage.key for stage in stages.for_read(is_of_points=True)]
    words = form.choice("stage", every, need="")
    stage = stages.of(words or "") or stages.now
    table = Table((), ())
    if text is not None:
        table = table_of(form.value("rows"), there.known.repair, stages, stage, there.units)
        _checked(there, form, table)
    at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()

    def said() -> Sequence[Say]:
        common = {"at": at, "by": there.person.name}
        return [Say("reading", {**body, **common}) for body in table.bodies]

    return save(
        there,
        form,
        said,
        then=there.path("fit/readings"),
        again=lambda: page(there, form, table.bad),
    )


def uploaded(form: Form, data: bytes) -> None:
    """Put an uploaded file where a pasted text stands, so that it can be corrected there."""
    if not data:
        return
    if len(data) > MOST_TEXT:
        form.wrong("file", f"This file is larger than {MOST_TEXT // 1000} kB.")
        return
    try:
        form.values["rows"] = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        form.wrong("file", f"This is no text (byte {error.start}); save it as UTF-8.")


def _checked(there: There, form: Form, table: Table) -> None:
    if table.bad:
        count = len(table.bad)
        rows_ = "1 row" if count == 1 else f"{count} rows"
        form.wrong("rows", f"{rows_} cannot be taken, so none was stored: see the list above.")
    elif not table.bodies:
        form.wrong("rows", "There is no row with a reading in it.")
    for body in table.bodies:
        try:
            moment = there.desk.settings.clock()
            facts_of(there, [uuid7(moment, bytes(10))], [Say("reading", body)])
        except InvalidFile as error:
            form.wrong("rows", "; ".join(f"{where}: {what}" for where, what in error.problems))
