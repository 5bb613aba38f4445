"""Adjusters: what can be moved before the joints are closed, entered without typing a place."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.facts.repair import BODY
from panelwright.web.fit_add import WAYS
from panelwright.web.fit_adjust import (
    AS_IT_IS,
    KINDS,
    SIDES,
    adjuster_facts,
    adjusters_here,
    goes_with,
    near_options,
    said_of,
)
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save, see, withdrawal

router = APIRouter()
PAGE = Page("fit/adjusters", "", 56, router)

NOT_HERE = "not on this vehicle"


@router.get("/repairs/{name}/fit/adjusters")
def adjusters(there: AtRepair) -> Response:
    """Show the adjusters, and the form of a new one."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    repair = there.known.repair
    fit = there.answers.fit(there.known)
    sides = [(side, side) for side in SIDES]
    ways = [(way, way) for way in WAYS]
    return show(
        there,
        "fit_adjust.html",
        form=form,
        heading="Adjusters",
        path=there.path("fit"),
        again=there.path("fit/adjusters"),
        action=there.path("fit/adjusters"),
        items=adjusters_here(there),
        kinds=tuple(KINDS.items()),
        parts_there=[(part.id, part.label) for part in repair.parts],
        on=[(BODY, "the body"), *((part.id, part.label) for part in repair.parts)],
        near=near_options(repair, fit),
        sides=sides,
        sides_kept=[(AS_IT_IS, "where it is"), *sides],
        ways=ways,
        ways_kept=[(AS_IT_IS, "as it is"), *ways],
        goes_with=goes_with(repair),
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/adjusters")
def store(there: AtRepair, form: Sent) -> Response:
    """Store an adjuster, or say one anew as it is corrected."""
    said = said_of(there, form)
    return save(
        there,
        form,
        lambda: said,
        then=there.path("fit/adjusters"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/fit/adjusters/away")
def away(there: AtRepair, form: Sent) -> Response:
    """Take an adjuster away that is not on this vehicle."""
    item = form.value("item")
    if all(str(fact.id) != item for fact in adjuster_facts(there)):
        return see(there.path("fit/adjusters"))  # tapped twice, or somebody else was quicker
    return save(
        there,
        form,
        lambda: [withdrawal(item, NOT_HERE)],
        then=there.path("fit/adjusters"),
        again=lambda: page(there, form),
    )
