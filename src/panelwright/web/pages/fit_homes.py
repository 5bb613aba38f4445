"""Target positions: from which source each point has its own, and whether sources agree."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.web.fit_homes import homes_here, said_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save

router = APIRouter()
PAGE = Page("fit/homes", "", 57, router)


@router.get("/repairs/{name}/fit/homes")
def homes(there: AtRepair) -> Response:
    """Show every point of a part with the sources of its target position."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    items = homes_here(there)
    apart = [item.id for item in items if item.conflicts]
    return show(
        there,
        "fit_homes.html",
        form=form,
        heading="Target positions",
        path=there.path("fit"),
        again=there.path("fit/homes"),
        items=items,
        apart=apart,
        sister=any(s.key == "sister" and s.chosen for item in items for s in item.sources),
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/homes")
def say(there: AtRepair, form: Sent) -> Response:
    """Say where a point belongs."""
    said = said_of(there, form)
    return save(
        there,
        form,
        lambda: said,
        then=there.path("fit/homes"),
        again=lambda: page(there, form),
    )
