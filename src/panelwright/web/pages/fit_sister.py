"""A sister vehicle: readings taken on it, and coordinates that a measuring system printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from panelwright.web.fit_sister import (
    COLUMNS,
    SisterTable,
    read_on_it,
    rows_here,
    sister_facts,
    table_of,
)
from panelwright.web.fit_stages import ON_SISTER
from panelwright.web.fit_view import take_path
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.pages.fit_rows import MOST_BAD, MOST_TEXT, uploaded
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save, see, withdrawal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.web.fit_rows import Bad

router = APIRouter()
PAGE = Page("fit/sister", "", 58, router)

WRONG = "wrong coordinates"


@router.get("/repairs/{name}/fit/sister")
def sister(there: AtRepair) -> Response:
    """Show what is known of the sister vehicle, and how more comes in."""
    return page(there, Form())


def page(there: There, form: Form, bad: Sequence[Bad] = ()) -> Response:
    """Show the page, with the rows that cannot be taken."""
    repair = there.known.repair
    return show(
        there,
        "fit_sister.html",
        form=form,
        heading="Sister vehicle",
        path=there.path("fit"),
        again=there.path("fit/sister"),
        action=there.path("fit/sister"),
        rows=rows_here(there),
        read=read_on_it(repair),
        take=take_path(there.path("fit"), ON_SISTER),
        homed=[point.id for point in repair.points if "sister" in point.homes],
        columns=tuple(COLUMNS.items()),
        bad=tuple(bad)[:MOST_BAD],
        more=max(len(bad) - MOST_BAD, 0),
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/sister")
async def take(there: AtRepair, form: Sent) -> Response:
    """Store every row of a table, or none and say what is wrong with which."""
    sent = form.files.get("file")
    data = await sent.read(MOST_TEXT + 1) if sent is not None else b""
    return await run_in_threadpool(_take, there, form, data)


def _take(there: There, form: Form, data: bytes) -> Response:
    uploaded(form, data)
    text = form.text("rows", need="Paste a table or choose a file.", most=MOST_TEXT)
    table = SisterTable((), ())
    if text is not None:
        table = table_of(form.value("rows"), there.known.repair, there.units)
        if table.bad:
            count = len(table.bad)
            rows = "1 row" if count == 1 else f"{count} rows"
            form.wrong("rows", f"{rows} cannot be taken, so none was stored: see the list above.")
        elif not table.bodies:
            form.wrong("rows", "There is no row with coordinates in it.")
    return save(
        there,
        form,
        lambda: [Say("sister", body) for body in table.bodies],
        then=there.path("fit/sister"),
        again=lambda: page(there, form, table.bad),
    )


@router.post("/repairs/{name}/fit/sister/away")
def away(there: AtRepair, form: Sent) -> Response:
    """Take coordinates away that are wrong."""
    item = form.value("item")
    if all(str(fact.id) != item for fact in sister_facts(there)):
        return see(there.path("fit/sister"))  # tapped twice, or somebody else was quicker
    return save(
        there,
        form,
        lambda: [withdrawal(item, WRONG)],
        then=there.path("fit/sister"),
        again=lambda: page(there, form),
    )
