"""What the starting layout assumes: right on this vehicle, corrected, or not there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.web.fit_confirm import (
    TITLES,
    WORDS,
    Item,
    as_it_stands,
    is_read,
    items_of,
    said_of,
)
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save, see, withdrawal

if TYPE_CHECKING:
    from collections.abc import Sequence

router = APIRouter()
PAGE = Page("fit/confirm", "", 54, router)

NOT_HERE = "not on this vehicle"


@router.get("/repairs/{name}/fit/confirm")
def confirm(there: AtRepair) -> Response:
    """Show what is assumed, by kind."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    items = items_of(there.known.folded, there.units)
    return show(
        there,
        "fit_confirm.html",
        form=form,
        heading="Assumed, confirm",
        path=there.path("fit"),
        again=there.path("fit/confirm"),
        groups=[(kind, TITLES[kind], WORDS[kind], items[kind]) for kind in TITLES if kind in items],
        count=sum(len(found) for found in items.values()),
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/confirm")
def say(there: AtRepair, form: Sent) -> Response:
    """Confirm one item as the form corrects it, take it away, or confirm all of a kind."""
    items = items_of(there.known.folded, there.units)
    kind, identity = form.value("kind"), form.value("item")
    said: Sequence[Say]
    if kind:
        if kind not in TITLES:
            raise HTTPException(404)
        said = [one for item in items.get(kind, ()) for one in as_it_stands(item)]
    else:
        said = _one(there, form, _found(items, identity))
    if not said and form.ok:  # tapped twice, or somebody else was quicker
        return see(there.path("fit/confirm"))
    return save(
        there,
        form,
        lambda: said,
        then=there.path("fit/confirm"),
        again=lambda: page(there, form),
    )


def _found(items: dict[str, tuple[Item, ...]], identity: str) -> Item | None:
    return next((one for found in items.values() for one in found if one.id == identity), None)


def _one(there: There, form: Form, item: Item | None) -> Sequence[Say]:
    if item is None:
        return ()
    if form.value("do") != "away":
        return said_of(item, form, there.units)
    if is_read(item, there.known.repair):
        form.wrong("", "There are readings of it: withdraw those first.")
    return [withdrawal(str(fact.id), NOT_HERE) for fact in item.facts]
