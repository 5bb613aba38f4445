"""Joints: what each takes, on whose word, and how far it is drilled and riveted."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.joints.answer_parts import Origin
from panelwright.record import Unanswered
from panelwright.web import joints_view
from panelwright.web.anew import body_of, confirmed
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.pages.findings import fresh
from panelwright.web.render import show
from panelwright.web.shown import Sign
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save

router = APIRouter()
PAGE = Page("joints", "Joints", 40, router)

_, ASK = joints_view.ORIGINS[Origin.ASK]


@router.get("/repairs/{name}/joints")
def joints(there: AtRepair) -> Response:
    """Show every joint."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    known, answer = there.known, there.answers.joints(there.known)
    off = there.answers.teardown(known)
    opened, closed = joints_view.rows(known, answer, off, there.units)
    answered = None if isinstance(answer, Unanswered) else answer
    words, why = _instruction(opened)
    return show(
        there,
        "joints.html",
        form=form,
        heading="Joints",
        instruction=words,
        why=why,
        opened=opened,
        closed=closed,
        answer=answered,
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        problems=answered.problems if answered else (),
        parts_of=[(part.id, part.label) for part in known.repair.parts],
        kinds=joints_view.KINDS,
        rivets=known.repair.rivets,
        path=there.path("joints"),
    )


def _instruction(opened: tuple[joints_view.Row, ...]) -> tuple[str, str]:
    if not opened:
        return "No joint is opened.", "Joints follow from what comes off: see Findings."
    ask = [row for row in opened if row.sign is Sign.ASK and row.word == ASK]
    if ask:
        return f"Ask the maker about {ask[0].label} first.", "The rest can be prepared meanwhile."
    broken = [row for row in opened if row.broken]
    if broken:
        return f"Settle {broken[0].label} first: a rule is not kept.", "Open it to see which."
    return "Open the joint that you work on.", "It shows what to drill, set and bead, and counts."


@router.post("/repairs/{name}/joints/confirm")
def confirm(there: AtRepair, form: Sent) -> Response:
    """Confirm every joint that is only assumed, as it stands."""
    waiting = there.known.repair.assumed.ids("joint")
    return save(
        there,
        form,
        lambda: [confirmed(there.known, "joint", one) for one in sorted(waiting)],
        then=there.path("joints"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/joints/joint")
def add_joint(there: AtRepair, form: Sent) -> Response:
    """Add a joint between two parts."""
    parts = there.known.repair.part_by_id
    outer = form.choice("outer", parts, need="Choose the outer part.")
    inner = form.choice("inner", parts, need="Choose the part behind it.")
    if outer is not None and outer == inner:
        form.wrong("inner", "A joint holds two different parts.")
    kind = form.choice("kind", dict(joints_view.KINDS), need="Choose how it is held.")
    label = form.text("label", need="Say what people call it.", most=120)

    def said() -> list[Say]:
        identity = fresh(label or "", there.known.repair.joint_by_id)
        body = {"id": identity, "name": label, "layers": [outer, inner], "kind": kind}
        return [Say("joint", body)]

    return save(there, form, said, then=there.path("joints"), again=lambda: page(there, form))


@router.post("/repairs/{name}/joints/rivet")
def add_rivet(there: AtRepair, form: Sent) -> Response:
    """Add a rivet of the shop, or say its table anew."""
    units = there.units
    rivet = form.text("rivet", need="Give its name or number.", most=120)
    diameter = form.length("diameter", units, need="Give the diameter.")
    given = {key: form.length(key, units) for key in ("length", "hole", "head_diameter")}
    low, high = form.length("grip_low", units), form.length("grip_high", units)
    if (low is None) != (high is None):
        form.wrong("grip_low" if low is None else "grip_high", "Give both ends of the grip.")
    shear = form.number("shear", least=0.01, most=100)
    on_hand = form.number("on_hand", least=0, most=100_000)
    source = form.text("source", most=200)

    def said() -> list[Say]:
        body = body_of(there.known, "rivet", rivet)
        told: dict[str, object] = {**given, "source": source, "diameter": diameter}
        if low is not None:
            told["grip"] = [low, high]
        if shear is not None:
            told["shear"] = f"{shear:g} kN"
        if on_hand is not None:
            told["on_hand"] = int(on_hand)
        new = {key: value for key, value in told.items() if value is not None}
        return [Say("rivet", {**body, **new, "id": rivet})]

    return save(there, form, said, then=there.path("joints"), again=lambda: page(there, form))
