"""A joint's own screen: what to do, its flange to scale, counting, and its table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.facts.models.parts import Joint
from panelwright.joints.drawing import flange_sheets
from panelwright.record import Unanswered
from panelwright.record.strip import strip
from panelwright.web import findings_view, joint_figures, joint_table, joints_view
from panelwright.web.anew import body_of, confirmed
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.worded import Doubt, doubts
from panelwright.web.writes import Say, save, withdrawal

if TYPE_CHECKING:
    from panelwright.joints.answer import JointsAnswer

router = APIRouter()
PAGE = Page("joint", "", 41, router)

BY: Mapping[str, int] = {"plus": 1, "minus": -1}
UNDO, ALL = "undo", "all"


@router.get("/repairs/{name}/joint")
def joint(there: AtRepair, id: str = "") -> Response:  # noqa: A002 - as it stands in the address
    """Show one joint."""
    return page(there, Form(), _joint(there, id))


def _joint(there: There, identity: str) -> Joint:
    found = there.known.repair.joint_by_id.get(identity)
    if found is None:
        raise HTTPException(404, "This repair has no such joint.")
    return found


def page(there: There, form: Form, joint: Joint) -> Response:
    """Show the screen, with a form that was not taken where there is one."""
    known, units, answer = there.known, there.units, there.answers.joints(there.known)
    said = joints_view.joint_of(answer, joint.id)
    counted = joints_view.counted(known, joint.id, said)
    words, why, kind = joints_view.instruction(said, joint.label, units)
    drawn = strip(said, units) if said is not None else None
    drilled = next((fact for fact in known.repair.events if _is_set(fact, joint.id)), None)
    return show(
        there,
        "joint.html",
        form=form,
        heading=joint.label,
        joint=joint,
        said=said,
        instruction=(words, why, kind),
        layers=[_label(there, layer) for layer in joint.layers],
        counted=counted,
        riveted=bool(counted) and counted[-1].done >= counted[-1].of and drilled is None,
        rivets_set=drilled,
        places=joints_view.places(said, units) if said else (),
        unplaced=joints_view.nothing_placed(said) if said else "",
        drawing=drawn.svg if drawn else None,
        sheets=len(flange_sheets(said, units=units)) if said else 0,
        held=joint_figures.held(said, units) if said else (),
        kept=sum(check.ok is True for check in said.checks) if said else 0,
        measures=joint_figures.measures(said, units) if said else (),
        strength=joint_figures.strength(said, units) if said else (),
        origins=joint_figures.origins(said) if said else (),
        origin=joints_view.ORIGINS[said.from_] if said else None,
        cautions=answer.cautions if said and not isinstance(answer, Unanswered) else (),
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        told=joint_table.told(body_of(known, "joint", joint.id)),
        doubts=_doubts(there, joint, answer),
        assumed=joint.id in known.repair.assumed.ids("joint"),
        kinds=joints_view.KINDS,
        rivets=[(one.id, one.name or one.id) for one in known.repair.rivets],
        adhesives=[(one.id, one.name or one.id) for one in known.repair.adhesives],
        path=joints_view.href(known, joint.id),
        back=there.path("joints"),
    )


def _doubts(there: There, joint: Joint, answer: JointsAnswer | Unanswered) -> list[Doubt]:
    """Give what is not clear about this joint and the parts that it holds."""
    if isinstance(answer, Unanswered):
        return []
    mine = {joints_view.href(there.known, joint.id)}
    mine |= {findings_view.href(there.known, part) for part in joint.layers}
    found = doubts(there.known.repair, answer.problems, there.path())
    return [one for one in found if one.href in mine]


def _is_set(event: object, joint: str) -> bool:
    return getattr(event, "kind", "") == "rivets-set" and getattr(event, "joint", None) == joint


def _label(there: There, part: str) -> str:
    found = there.known.repair.part_by_id.get(part)
    return found.label if found else part


@router.post("/repairs/{name}/joint/count")
def count(there: AtRepair, form: Sent) -> Response:
    """Count holes drilled or rivets set: one more, one less, all, or the last tap taken back."""
    joint = _joint(there, form.value("joint"))
    said = joints_view.joint_of(there.answers.joints(there.known), joint.id)
    kinds = {one.kind: one for one in joints_view.counted(there.known, joint.id, said)}
    kind = form.choice("kind", kinds, need="What is counted?")
    by = form.choice("by", (*BY, UNDO, ALL), need="Tap plus or minus.")
    now = kinds.get(kind or "")
    if now is not None and by == "minus" and now.done < 1:
        form.wrong("", "Nothing is counted that could be taken off.")
    if now is not None and by == UNDO and not now.last:
        form.wrong("", "Nothing is counted that could be taken back.")
    if now is not None and by == ALL and now.done >= now.of:
        form.wrong("", f"All {now.of} are counted already.")

    def say() -> list[Say]:
        assert now is not None  # noqa: S101 - the form has no problems
        if by == UNDO:
            return [withdrawal(now.last, "counted by mistake")]
        more = BY.get(by or "", now.of - now.done)
        at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()
        body = {"kind": kind, "joint": joint.id, "count": more}
        return [Say("event", {**body, "at": at, "by": there.person.name})]

    then = joints_view.href(there.known, joint.id)
    return save(there, form, say, then=then, again=lambda: page(there, form, joint))


@router.post("/repairs/{name}/joint/table")
def table(there: AtRepair, form: Sent) -> Response:
    """Take the joint as it is on this vehicle and in the procedure; confirms what was assumed."""
    joint = _joint(there, form.value("joint"))
    told = joint_table.taken(there, form, joint)
    return save(
        there,
        form,
        lambda: [confirmed(there.known, "joint", joint.id, **told)],
        then=joints_view.href(there.known, joint.id),
        again=lambda: page(there, form, joint),
    )


@router.get("/repairs/{name}/joint/template/{sheet}")
def template(there: AtRepair, sheet: int, id: str = "") -> Response:  # noqa: A002 - see above
    """Give a sheet of the drilling template, 1:1, to print and mark out from."""
    said = joints_view.joint_of(there.answers.joints(there.known), _joint(there, id).id)
    sheets = flange_sheets(said, units=there.units) if said is not None else ()
    if not 1 <= sheet <= len(sheets):
        raise HTTPException(404, "This joint has no such sheet.")
    return Response(sheets[sheet - 1].svg, media_type="image/svg+xml")
