"""A part's own screen: what becomes of it, by one tap, and what was found on it."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.facts.models.parts import Part
from panelwright.record import Unanswered
from panelwright.web import findings_view
from panelwright.web.anew import body_of, confirmed
from panelwright.web.change import WORDS
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save

router = APIRouter()
PAGE = Page("part", "", 21, router)

NOTE = "note"
"""Of the button that keeps the part's state."""


@router.get("/repairs/{name}/part")
def part(there: AtRepair, id: str = "") -> Response:  # noqa: A002 - as it stands in the address
    """Show one part."""
    return page(there, Form(), _part(there, id))


def _part(there: There, identity: str) -> Part:
    found = there.known.repair.part_by_id.get(identity)
    if found is None:
        raise HTTPException(404, "This repair has no such part.")
    return found


def page(there: There, form: Form, part: Part) -> Response:
    """Show the screen, with a form that was not taken where there is one."""
    known = there.known
    answer = there.answers.teardown(known)
    look = findings_view.look_of(answer, part.id)
    hiders = findings_view.hidden_by(known.repair, part.id)
    return show(
        there,
        "part.html",
        form=form,
        heading=part.label,
        part=part,
        sign=findings_view.SIGNS[part.state],
        word=WORDS[part.state],
        buttons=tuple(findings_view.LABELS.items()),
        look=look,
        hiders=[(hider.id, hider.label) for hider in hiders],
        cares=findings_view.cares_of(answer, part.id),
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        findings=[one for one in findings_view.findings(known) if one.part == part.id],
        told=_told(body_of(known, "part", part.id)),
        assumed=part.id in known.repair.assumed.ids("part"),
        path=findings_view.href(known, part.id),
        back=there.path("findings"),
    )


def _told(body: Mapping[str, object]) -> dict[str, str]:
    """Give a part's table as text for the fields of its form."""
    return {
        key: "" if body.get(key) is None else str(body[key])
        for key in ("name", "material", "thickness", "area", "mass")
    } | {"structural": "yes" if body.get("structural") else "no"}


@router.post("/repairs/{name}/part/finding")
def finding(there: AtRepair, form: Sent) -> Response:
    """Take what was found and what becomes of the part: words, a tapped state, or both."""
    part = _part(there, form.value("part"))
    state = form.choice("state", (*findings_view.LABELS, NOTE), need="Tap what becomes of it.")
    what = form.text("what", most=1000)
    if state == NOTE and what is None:
        form.wrong("what", "Say what you found, in a few words.")
    hiders = {one.id for one in findings_view.hidden_by(there.known.repair, part.id)}
    after = form.choice("after", hiders, need="")
    at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()

    def said() -> list[Say]:
        words = what or findings_view.WITHOUT_WORDS.get(state or "", "")
        body = {"part": part.id, "what": words, "after": after, "at": at, "by": there.person.name}
        return [Say("finding", body if state == NOTE else {**body, "state": state})]

    return save(
        there,
        form,
        said,
        then=findings_view.href(there.known, part.id),
        again=lambda: page(there, form, part),
    )


@router.post("/repairs/{name}/part/table")
def table(there: AtRepair, form: Sent) -> Response:
    """Take the part's table as it is on this vehicle; what was only assumed is confirmed by it."""
    part = _part(there, form.value("part"))
    name = form.text("name", need="Say what people call it.", most=120)
    material = form.text("material", most=120)
    thickness = form.length("thickness", there.units)
    area = form.text("area", most=40)
    structural = form.choice("structural", ("yes", "no"), need="Choose one.") == "yes"
    return save(
        there,
        form,
        lambda: [
            confirmed(
                there.known,
                "part",
                part.id,
                name=name,
                material=material,
                thickness=thickness,
                area=area if area is None or not area.replace(".", "").isdigit() else f"{area} m2",
                structural=structural,
            )
        ],
        then=findings_view.href(there.known, part.id),
        again=lambda: page(there, form, part),
    )
