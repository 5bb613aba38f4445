"""Findings: what comes off, where to look behind, what was found, and what that changes."""

from __future__ import annotations

import re

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.record import Unanswered
from panelwright.web import change, findings_view
from panelwright.web.anew import anew, body_of, confirmed
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save

router = APIRouter()
PAGE = Page("findings", "Findings", 20, router)


@router.get("/repairs/{name}/findings")
def findings(there: AtRepair) -> Response:
    """Show what comes off and what was found."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    known, answer = there.known, there.answers.teardown(there.known)
    answered = None if isinstance(answer, Unanswered) else answer
    told = body_of(known, "procedure")
    off = findings_view.taken_off(there.answers.plan(known).answer)
    words, why = findings_view.instruction(known.repair, answer, off)
    changed = change.change(there.answers, known)
    return show(
        there,
        "findings.html",
        form=form,
        heading="Findings",
        instruction=words,
        why=why,
        changed=changed,
        groups=change.rows(changed.sheet) if changed and changed.sheet else (),
        answer=answered,
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        taken=findings_view.taken(known, answered, off) if answered else (),
        rows=findings_view.rows(known),
        behind=[(part.id, part.label) for part in known.repair.parts],
        findings=findings_view.findings(known),
        procedure={key: str(told.get(key) or "") for key in ("reference", "revision", "read_on")},
        path=there.path("findings"),
    )


@router.post("/repairs/{name}/findings/procedure")
def procedure(there: AtRepair, form: Sent) -> Response:
    """Take which procedure of the maker governs the repair."""
    reference = form.text("reference", need="Give the procedure's number or title.", most=300)
    revision = form.text("revision", most=60)
    read_on = form.text("read_on", most=10)
    return save(
        there,
        form,
        lambda: [
            anew(there.known, "procedure", reference=reference, revision=revision, read_on=read_on)
        ],
        then=there.path("findings"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/findings/confirm")
def confirm(there: AtRepair, form: Sent) -> Response:
    """Confirm every part that is only assumed, as it stands."""
    waiting = there.known.repair.assumed.ids("part")
    return save(
        there,
        form,
        lambda: [confirmed(there.known, "part", one) for one in sorted(waiting)],
        then=there.path("findings"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/findings/part")
def add_part(there: AtRepair, form: Sent) -> Response:
    """Add a part by its name, and what becomes of it."""
    label = form.text("label", need="Say what people call it.", most=120)
    state = form.choice("new_state", findings_view.LABELS, need="Choose what becomes of it.")
    behind = form.choice("behind", there.known.repair.part_by_id, need="")

    def said() -> list[Say]:
        identity = fresh(label or "", there.known.repair.part_by_id)
        part = Say("part", {"id": identity, "name": label, "state": state})
        if behind is None:
            return [part]
        hides = [*there.known.repair.part_by_id[behind].hides, identity]
        return [part, anew(there.known, "part", behind, hides=hides)]

    return save(there, form, said, then=there.path("findings"), again=lambda: page(there, form))


def fresh(label: str, taken: object) -> str:
    """Give an id made of a name, that nothing has yet."""
    base = re.sub(r"[^a-z0-9]+", "-", label.lower()).strip("-") or "part"
    known = set(taken) if hasattr(taken, "__iter__") else set()
    number = 1
    while (identity := base if number == 1 else f"{base}-{number}") in known:
        number += 1
    return identity
