"""The list of repairs: each with its next action, running clocks, and ready-for-paint time."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import Here

router = APIRouter()
PAGE = Page("repairs", "", 0, router)


@router.get("/")
def first() -> Response:
    """Go to the list."""
    return RedirectResponse("/repairs", 303)


@router.get("/repairs")
def repairs(visit: Here) -> Response:
    """Show all repairs."""
    rows = visit.desk.summaries.rows(visit.store.repairs())
    return show(visit, "repairs.html", heading="Repairs", rows=rows)
