"""Tools: what the level stands on, the class of a tape, and what a shop's repeats say."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.web.fit_tools import (
    CLASSES,
    FLOORS,
    HOOKS,
    proposals,
    said_of,
    taken_over,
    tools_here,
)
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save

router = APIRouter()
PAGE = Page("fit/tools", "", 59, router)


@router.get("/repairs/{name}/fit/tools")
def tools(there: AtRepair) -> Response:
    """Show the tools of the repair."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    proposed = proposals(there.answers.fit(there.known))
    return show(
        there,
        "fit_tools.html",
        form=form,
        heading="Tools",
        path=there.path("fit"),
        again=there.path("fit/tools"),
        action=there.path("fit/tools"),
        items=tools_here(there),
        proposed=proposed,
        floors=tuple(FLOORS.items()),
        classes=tuple(CLASSES.items()),
        hooks=tuple(HOOKS.items()),
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/tools")
def say(there: AtRepair, form: Sent) -> Response:
    """Take what a tool stands on or what is printed on it, or take over what repeats say."""
    said = taken_over(there, form) if form.value("do") == "take-over" else said_of(there, form)
    return save(
        there,
        form,
        lambda: said,
        then=there.path("fit/tools"),
        again=lambda: page(there, form),
    )
