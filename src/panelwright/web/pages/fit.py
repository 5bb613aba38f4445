"""Fit: is the panel where it belongs, and if not, which way to move it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.facts.repair import BODY
from panelwright.fit.origins import sources_in
from panelwright.record import Unanswered
from panelwright.web.fit_adjusters import set_as_told
from panelwright.web.fit_stages import Stage, stages_of
from panelwright.web.fit_view import take_path, view_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save

router = APIRouter()
PAGE = Page("fit", "Fit", 50, router)

CAUTIONS = (
    "Cut edges are sharp: gloves and sleeves.",
    "Support the panel before pins or clamps are slackened; two people for a large one.",
)
MOST_FITS = 99


@router.get("/repairs/{name}/fit")
def fit(there: AtRepair) -> Response:
    """Show what to do, and where every part sits."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    repair = there.known.repair
    answer = there.answers.fit(there.known)
    stages = stages_of(repair)
    return show(
        there,
        "fit.html",
        form=form,
        heading="Fit",
        path=there.path("fit"),
        again=there.path("fit"),
        view=view_of(repair, stages, answer, there.units, there.path("fit")),
        stages=stages,
        answer=None if isinstance(answer, Unanswered) else answer,
        why=answer.why if isinstance(answer, Unanswered) else (),
        sources=() if isinstance(answer, Unanswered) else sources_in(answer.sources, there.units),
        cautions=CAUTIONS,
    )


@router.post("/repairs/{name}/fit/moved")
def moved(there: AtRepair, form: Sent) -> Response:
    """Begin a new dry fit of a part: readings of it count from here on in the next setting."""
    stages = stages_of(there.known.repair)
    parts = [part.id for part in there.known.repair.parts if part.id != BODY]
    part = form.choice("part", parts, need="Which part was moved?")
    number = form.number("setting", least=1, most=MOST_FITS, need="Which dry fit begins?")
    if part is not None and number is not None and number > stages.latest_of(part) + 1:
        form.wrong("", f"The next dry fit of this part is number {stages.latest_of(part) + 1}.")
    at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()
    body: dict[str, object] = {"kind": "moved", "part": part, "at": at, "by": there.person.name}
    answer = there.answers.fit(there.known)
    if part is not None and (adjusted := set_as_told(there.known.repair, answer, part)):
        body["adjusted"] = adjusted
    setting = int(number or 1)
    return save(
        there,
        form,
        lambda: [Say("event", {**body, "setting": setting})],
        then=take_path(there.path("fit"), Stage(setting)),
        again=lambda: page(there, form),
    )
