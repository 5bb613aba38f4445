"""Quiet: sound pads, what they do, how they are cut and laid, and the tap test."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.quantities import Length
from panelwright.record import Unanswered
from panelwright.web import quiet_view
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save, withdrawal

router = APIRouter()
PAGE = Page("quiet", "Quiet", 70, router)


@router.get("/repairs/{name}/quiet")
def quiet(there: AtRepair) -> Response:
    """Show pads and their cutting."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    known, units, answer = there.known, there.units, there.answers.quiet(there.known)
    answered = None if isinstance(answer, Unanswered) else answer
    words, why = quiet_view.instruction(answer, known.repair)
    return show(
        there,
        "quiet.html",
        form=form,
        heading="Quiet",
        instruction=words,
        why=why,
        answer=answered,
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        panels=quiet_view.panels(answered, known.repair, units) if answered else (),
        sheets=quiet_view.sheets(answered, units) if answered else (),
        stocks=quiet_view.stocks(answered, units) if answered else (),
        parts_of=[(part.id, part.label) for part in known.repair.parts],
        pads=_pads(there),
        path=there.path("quiet"),
    )


def _pads(there: There) -> list[tuple[str, str]]:
    """Give the pads that are entered: the fact's id and what people call it."""
    labels = {part.id: part.label for part in there.known.repair.parts}
    found = []
    for fact in there.known.folded.facts:
        if fact.kind == "pad":
            part = str(fact.body.get("part"))
            found.append((str(fact.id), f"{fact.body.get('name') or 'pad'}, {labels.get(part)}"))
    return found


@router.post("/repairs/{name}/quiet/pad")
def pad(there: AtRepair, form: Sent) -> Response:
    """Add a pad by width and height, as the old one was."""
    part = form.choice("part", there.known.repair.part_by_id, need="Choose the panel.")
    label = form.text("label", most=120)
    width = form.length("width", there.units, need="Measure the old pad’s width.")
    height = form.length("height", there.units, need="Measure the old pad’s height.")
    thickness = form.length("thickness", there.units)
    mass = form.number("mass", least=0.1, most=50)
    sheet = [form.length("sheet_width", there.units), form.length("sheet_height", there.units)]
    if (sheet[0] is None) != (sheet[1] is None):
        form.wrong("sheet_width" if sheet[0] is None else "sheet_height", "Give both sides.")
    on_hand = form.number("on_hand", least=0, most=10_000)
    for name, value in (("width", width), ("height", height)):
        if value is not None and Length.parse(value).mm <= 0:
            form.wrong(name, f"{value} is no pad.")

    def said() -> list[Say]:
        across, up = Length.parse(width or 0).mm, Length.parse(height or 0).mm
        outline = [[0, 0], [across, 0], [across, up], [0, up]]
        body: dict[str, object] = {"part": part, "name": label, "outline": outline}
        body |= {"thickness": thickness, "mass": mass}
        body["sheet"] = sheet if sheet[0] is not None else None
        body["on_hand"] = None if on_hand is None else int(on_hand)
        return [Say("pad", body)]

    return save(there, form, said, then=there.path("quiet"), again=lambda: page(there, form))


@router.post("/repairs/{name}/quiet/remove")
def remove(there: AtRepair, form: Sent) -> Response:
    """Take a pad out of the list."""
    fact = form.choice("fact", [identity for identity, _ in _pads(there)], need="Which pad?")
    return save(
        there,
        form,
        lambda: [withdrawal(fact or "", "this pad is not needed")],
        then=there.path("quiet"),
        again=lambda: page(there, form),
    )
