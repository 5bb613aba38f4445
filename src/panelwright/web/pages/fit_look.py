"""Fit, the drawing: tap a point for its verdict, a second one for the span; dry fits together."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.record import Unanswered
from panelwright.web.fit_look import Where, look_of
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair

router = APIRouter()
PAGE = Page("fit/look", "", 56, router)


@router.get("/repairs/{name}/fit/look")
def look(there: AtRepair, part: str = "", a: str = "", b: str = "") -> Response:
    """Show a part's drawing with what is known of the tapped points."""
    answer = there.answers.fit(there.known)
    if isinstance(answer, Unanswered):
        return show(there, "fit_look.html", heading="Drawing", look=None, why=answer.why, out="")
    found = next((one for one in answer.parts if one.id == part), None)
    if found is None and (part or not answer.parts):
        raise HTTPException(404, "No such part has a place by the readings of this repair.")
    where = Where(there.path("fit"), there.units)
    seen = look_of(there.known.repair, answer, found or answer.parts[0], (a, b), where)
    return show(there, "fit_look.html", heading="Drawing", look=seen, why=(), out=where.path)
