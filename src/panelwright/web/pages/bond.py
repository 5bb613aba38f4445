"""Bond: one tap for each moment, the clocks that follow, and whether the air allows it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.bond.answer import BondAnswer
from panelwright.quantities import Units, show_temperature
from panelwright.record import Unanswered
from panelwright.sources import merge
from panelwright.web import bond_figures, bond_now, bond_view, clocks
from panelwright.web.anew import anew, body_of
from panelwright.web.forms import Form, Sent, shown_twice
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save, withdrawal

router = APIRouter()
PAGE = Page("bond", "Bond", 60, router)


@router.get("/repairs/{name}/bond")
def bond(there: AtRepair) -> Response:
    """Show clocks, taps and the surface."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    known, answer = there.known, there.answers.bond(there.known)
    answered = None if isinstance(answer, Unanswered) else answer
    names = {joint.id: joint.label for joint in known.repair.joints}
    groups = _groups(there)
    fits = bond_now.fits_in(there, answered)
    words, why, kind = _over(there, answer, groups) or _instruction(answer, groups, fits)
    advice, cautions = bond_figures.advice(answered) if answered else ((), ())
    conditions = body_of(known, "conditions")
    return show(
        there,
        "bond.html",
        form=form,
        heading="Bond",
        instruction=(words, why, kind),
        answer=answered,
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        clocks=clocks.running(answer, names, there.desk.settings.clock()),
        groups=groups,
        fits=fits,
        mind=bond_now.mind,
        to_come=[problem.what for problem in bond_now.still_to_come(there, answer)],
        events=bond_view.EVENTS,
        surface=answered.surface if answered else None,
        verdict=bond_view.SURFACE[answered.surface.bond] if answered else None,
        limits=bond_figures.limits(answered, names) if answered else (),
        dew=_celsius(answered.surface.dew_point_C if answered else None, there.units),
        conditions={key: str(conditions.get(key) or "") for key in ("air", "humidity", "panel")},
        times=bond_figures.times(answered.joints, names) if answered else (),
        heats=bond_figures.heats(answered.joints, names, there.units) if answered else (),
        advice=advice,
        cautions=cautions,
        sources=merge(*(one.sources for one in answered.joints)) if answered else (),
        notes=tuple(dict.fromkeys(n for one in answered.joints for n in one.notes))
        if answered
        else (),
        adhesives=bond_figures.sheets(known.repair, there.units),
        local=there.when.here(there.desk.settings.clock()).strftime("%Y-%m-%dT%H:%M"),
        path=there.path("bond"),
    )


def _instruction(
    answer: BondAnswer | Unanswered,
    groups: tuple[bond_view.Group, ...],
    fits: Mapping[str, bond_now.FitsIn],
) -> tuple[str, str, str]:
    """Say what is next; a stop where the adhesive must not be started like this."""
    said = bond_view.instruction(answer, groups)
    current = bond_view.pressing(groups)
    fit = fits.get(current.panel) if current is not None else None
    if current is None or fit is None or not fit.stop or said[2]:
        return said
    if current.next not in ("prepared", "bead-begun"):
        return said
    return f"Do not start the adhesive of {current.label} like this.", fit.stop, "bad"


def _over(
    there: There, answer: BondAnswer | Unanswered, groups: tuple[bond_view.Group, ...]
) -> tuple[str, str, str] | None:
    """Say a stop where the work time of what is being closed or riveted is over."""
    current = bond_view.pressing(groups)
    if isinstance(answer, Unanswered) or current is None:
        return None
    if current.next not in ("closed", "rivets-set"):
        return None
    mine = {line.id for line in current.lines}
    ends = [
        bond.clock.work_until
        for bond in answer.joints
        if bond.joint in mine and bond.clock.work_until and bond.clock.rivets_set is None
    ]
    if not ends or min(ends) > there.desk.settings.clock():
        return None
    what = "Close it no more" if current.next == "closed" else "Set no more rivets"
    why = (
        f"Its adhesive may have gelled since {there.when.clock(min(ends))}, the early bound. {what}"
        " before the data sheet and the maker’s procedure are asked what to do."
    )
    return f"Stop: the work time of {current.label} is over.", why, "bad"


def _celsius(value: float | None, units: Units) -> str:
    return "" if value is None else show_temperature(value, units)


def _groups(there: There) -> tuple[bond_view.Group, ...]:
    answer = there.answers.bond(there.known)
    if isinstance(answer, Unanswered):
        return ()
    off, joints = there.answers.teardown(there.known), there.answers.joints(there.known)
    return bond_view.groups(there.known, answer, off, joints)


@router.post("/repairs/{name}/bond/moment")
def moment(there: AtRepair, form: Sent) -> Response:
    """Take a moment of one joint, or of all joints of a panel that it is still to come for."""
    kind = form.choice("kind", bond_view.EVENTS, need="What happened?")
    panels = {group.panel: group for group in _groups(there)}
    panel = form.choice("panel", panels, need="")
    joint = form.choice("joint", there.known.repair.joint_by_id, need="")
    if form.ok and panel is None and joint is None:
        form.wrong("joint", "Choose the joint.")
    now = there.when.here(there.desk.settings.clock()).replace(microsecond=0)
    at, note = _said_at(form, kind, now)
    joints = [joint] if joint is not None else _waiting(there, panels, panel, kind)

    def said() -> list[Say]:
        told = {"kind": kind, "at": at, "by": there.person.name, "note": note}
        return [Say("event", {**told, "joint": one}) for one in joints]

    then = bond_view.href(there.known, joint) if form.value("from") == "cure" and joint else ""
    return save(
        there,
        form,
        said,
        then=then or there.path("bond"),
        again=lambda: page(there, form),
    )


COUNTS_FROM_FIRST = frozenset({"prepared", "bead-begun", "lamp-off"})
"""Moments of which the earlier is the safe one, where the clock showed a time twice."""


def _said_at(form: Form, kind: str | None, now: datetime) -> tuple[str, str | None]:
    """Give the moment, and a note where the shop's clock showed it twice: the safe one counts."""
    second = kind not in COUNTS_FROM_FIRST
    at = form.moment("at", now, second=second)
    if at is None:
        return now.isoformat(), None
    if second and datetime.fromisoformat(at) > now:
        second = False
        at = form.moment("at", now) or at
    moment = datetime.fromisoformat(at)
    if form.ok and moment > now:
        form.wrong("at", "This is still to come: say it when it has happened.")
    if not shown_twice(moment, now):
        return at, None
    which = "second" if second else "first"
    return at, f"the clock showed {at[11:16]} twice that night; the {which} is taken"


def _waiting(
    there: There, panels: dict[str, bond_view.Group], panel: str | None, kind: str | None
) -> list[str]:
    group = panels.get(panel or "")
    if group is None or kind is None:
        return []
    able = [line.id for line in group.lines if not line.ask]
    return list(bond_view.waiting(bond_view.passed(there.known), able, kind))


@router.post("/repairs/{name}/bond/undo")
def undo(there: AtRepair, form: Sent) -> Response:
    """Take back what was tapped by mistake."""
    mine = {fact.id for fact in bond_view.moments(there.known)}
    wanted = [_uuid(text) for text in form.value("facts").split(",")]
    found = [identity for identity in wanted if identity in mine]
    if not found or len(found) != len(wanted):
        form.wrong("", "There is nothing to take back: somebody was faster.")
    return save(
        there,
        form,
        lambda: [withdrawal(str(identity), "tapped by mistake") for identity in found],
        then=there.path("bond"),
        again=lambda: page(there, form),
    )


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


@router.post("/repairs/{name}/bond/air")
def air(there: AtRepair, form: Sent) -> Response:
    """Take air, humidity and panel temperature."""
    degrees = form.temperature("air", there.units, need="Read the air’s temperature.")
    humidity = form.number("humidity", least=0, most=100, need="Read the humidity, in %.")
    panel = form.temperature("panel", there.units)
    return save(
        there,
        form,
        lambda: [anew(there.known, "conditions", air=degrees, humidity=humidity, panel=panel)],
        then=there.path("bond"),
        again=lambda: page(there, form),
    )
