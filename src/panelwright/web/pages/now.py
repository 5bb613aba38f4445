"""The repair's first page: what to do next and why, its cautions, clocks, what is unanswered."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.facts.kinds import WITHDRAWN
from panelwright.web import reads
from panelwright.web.bond_now import MayNow, all_allowed, may_now
from panelwright.web.fit_before import before_view
from panelwright.web.fit_stages import stages_of
from panelwright.web.fit_view import Instruction, view_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.step_pages import page_of
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, local, save

router = APIRouter()
PAGE = Page("", "Now", 10, router)

MEASURE = "measure-fit"
"""The library's step in which a panel is read and moved until it is home."""
BEGINS = frozenset({"bead-begun", "closed"})
"""Moments from which a bond sets."""
TO_BOND = "Go to Bond"
WITH_TIME = frozenset({"event", "finding", "reading"})
"""Kinds whose facts say when; a tap means now."""


@router.get("/repairs/{name}")
def now(there: AtRepair) -> Response:
    """Show what to do next."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    view = reads.now_of(there.answers, there.known, there.desk.settings.clock())
    room = page_of(view.step, there.known.repair) if view.step else None
    adhesive = first = _adhesive(view, there.desk.settings.clock(), there.path("bond"))
    if first is None and view.step and view.step.base == MEASURE:
        first = _of_fit(there)
    return show(
        there,
        "now.html",
        form=form,
        heading="Now",
        view=view,
        room=room,
        first=first,
        open=adhesive is not None,
        may=_may(there),
        before=before_view(there),
    )


def _may(there: There) -> MayNow | None:
    """Give what may be done now while adhesive sets; no room is asked where none is on."""
    if not any(event.kind in BEGINS for event in there.known.repair.events):
        return None
    found = may_now(there, there.answers.bond(there.known))
    return None if found is None or all_allowed(found) else found


def _adhesive(view: reads.Now, now: datetime, path: str) -> Instruction | None:
    """Give what open adhesive asks for: it comes before every step of the plan."""
    for one in view.clocks:
        kind = one.id.partition("-")[0]
        if kind == "work" and one.until < now:
            why = "The adhesive is too old to close: see the page Bond before anything is riveted."
            return Instruction("Stop: the work time is over.", why, True, TO_BOND, path)
        if kind in ("work", "begun"):
            why = "Adhesive is open: its work time runs, see below. Everything else waits."
            return Instruction("Put the panel on and set its rivets.", why, False, TO_BOND, path)
    return None


def _of_fit(there: There) -> Instruction:
    """Give what the fit says to do: a step that is "read and move" says which way."""
    repair = there.known.repair
    answer = there.answers.fit(there.known)
    path = there.path("fit")
    return view_of(repair, stages_of(repair), answer, there.units, path).instruction


@router.post("/repairs/{name}/say")
def say(there: AtRepair, form: Sent) -> Response:
    """Take one fact that a button says; the time of the tap goes in where it says none."""
    kind = form.text("kind", need="What is said?") or ""
    body = _body(form)
    if kind == WITHDRAWN:
        form.wrong("", "A fact is withdrawn on the page Log, with the reason.")

    def said() -> Sequence[Say]:
        moment = there.when.here(there.desk.settings.clock()).replace(microsecond=0)
        if kind in WITH_TIME:
            return [Say(kind, {"at": moment.isoformat(), "by": there.person.name, **body})]
        return [Say(kind, body)]

    then = local(form.value("then"), there.path())
    return save(there, form, said, then=then, again=lambda: page(there, form))


def _body(form: Form) -> dict[str, object]:
    try:
        body = json.loads(form.value("body"))
    except (ValueError, RecursionError):
        body = None
    if not isinstance(body, dict):
        form.wrong("", "The button said nothing that can be stored; open the page anew.")
        return {}
    return body
