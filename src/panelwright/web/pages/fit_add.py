"""Adding points and places without typing a direction or a coordinate."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.facts.repair import BODY
from panelwright.web.fit_add import LINES, ROUND, TITLES, WAYS, Added, said_of
from panelwright.web.fit_screen import Choice
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save

router = APIRouter()
PAGE = Page("fit/add", "", 55, router)


@router.get("/repairs/{name}/fit/add")
def add(there: AtRepair, kind: str = "") -> Response:
    """Show what can be added, or the form of one kind."""
    known = {one.value for one in Added}
    return page(there, Form(), Added(kind) if kind in known else None)


def page(there: There, form: Form, kind: Added | None) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    repair = there.known.repair
    path = there.path("fit/add")
    points = [(p.id, f"{p.id}: {p.name}" if p.name else p.id) for p in repair.points]
    return show(
        there,
        "fit_add.html",
        form=form,
        heading="Add a point or a place",
        path=there.path("fit"),
        again=f"{path}?kind={kind}" if kind else path,
        action=path,
        kinds=[Choice(TITLES[one], f"{path}?kind={one}") for one in Added],
        kind=kind,
        title=TITLES[kind] if kind else "",
        Added=Added,
        on=[(BODY, "the body"), *((part.id, part.label) for part in repair.parts)],
        parts_there=[(part.id, part.label) for part in repair.parts],
        points=points,
        ways=[(way, way) for way in WAYS],
        lines=[(line, line) for line in LINES],
        slots=[(ROUND, "round hole"), *((line, f"slot {line}") for line in LINES)],
        out=there.path("fit"),
    )


@router.post("/repairs/{name}/fit/add")
def store(there: AtRepair, form: Sent) -> Response:
    """Store a point, a pair or a place."""
    kind = form.choice("kind", [one.value for one in Added], need="Choose what to add.")
    if kind is None or not form.ok:
        return page(there, form, None)
    answer = there.answers.fit(there.known)
    said = said_of(Added(kind), form, there.known.repair, answer, there.units)
    more = there.path(f"fit/add?kind={kind}")
    return save(
        there,
        form,
        lambda: said,
        then=more if form.value("go") == "more" else there.path("fit"),
        again=lambda: page(there, form, Added(kind)),
    )
