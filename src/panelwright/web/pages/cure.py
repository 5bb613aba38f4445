"""A joint's own screen of its cure: temperatures read, its lamp, its chart."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.bond.answer import BondAnswer, JointBond
from panelwright.bond.lamp_answer import LampAnswer
from panelwright.bond.lamp_words import WARM_MOVES
from panelwright.facts.entry import Fact
from panelwright.facts.models.parts import Joint
from panelwright.quantities import show_length
from panelwright.record import Unanswered
from panelwright.record.heat_map import drawn_all
from panelwright.web import bond_figures, bond_now, bond_view, charts, clocks, lamp_view
from panelwright.web.anew import body_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save, withdrawal

router = APIRouter()
PAGE = Page("cure", "", 61, router)

SURFACES = (
    ("primed", "primed"),
    ("painted", "painted"),
    ("oxidised", "dull metal"),
    ("bare", "bright metal"),
)
BEHIND = (("open", "the bay’s air"), ("closed", "a closed box"))
LIES = (("upright", "upright"), ("level", "level, lamp above"))
CONTACT = "contact"
READ_WITH = (
    (CONTACT, "contact thermometer"),
    ("tape", "infrared, on black tape"),
    ("primed", "infrared, on primer"),
    ("painted", "infrared, on paint"),
    ("oxidised", "infrared, on dull metal"),
    ("bare", "infrared, on bright metal"),
)


@router.get("/repairs/{name}/cure")
def cure(there: AtRepair, id: str = "") -> Response:  # noqa: A002 - as it stands in the address
    """Show one joint's cure."""
    return page(there, Form(), _joint(there, id))


def _joint(there: There, identity: str) -> Joint:
    found = there.known.repair.joint_by_id.get(identity)
    if found is None:
        raise HTTPException(404, "This repair has no such joint.")
    return found


def page(there: There, form: Form, joint: Joint) -> Response:
    """Show the screen, with a form that was not taken where there is one."""
    known, now = there.known, there.desk.settings.clock()
    answer = there.answers.bond(known)
    bond = bond_view.bond_of(answer, joint.id)
    names = {joint.id: joint.label}
    alone = answer if isinstance(answer, Unanswered) or bond is None else one_joint(answer, bond)
    heatings = [one for one in known.repair.heatings if one.joint == joint.id]
    return show(
        there,
        "cure.html",
        form=form,
        heading=f"Cure of {joint.label}",
        joint=joint,
        bond=bond,
        instruction=_instruction(joint, bond, answer),
        clocks=clocks.running(alone, names, now),
        may=bond_now.may_now(there, answer, (joint.id,)),
        coldest=_coldest(there, bond),
        chart=_chart(there, bond),
        times=bond_figures.times([bond] if bond else [], names),
        heat=bond_figures.heats([bond] if bond else [], names, there.units),
        lamp_next=bond_view.lamp_next(bond) if bond else "",
        events=bond_view.EVENTS,
        passed=_passed(there, joint.id),
        heatings=heatings,
        heating=heatings[0] if heatings else None,
        lamps=[lamp.id for lamp in known.repair.lamps],
        surfaces=SURFACES,
        read_with=READ_WITH,
        behind=BEHIND,
        lies=LIES,
        maps=drawn_all(bond.maps, there.units) if bond else (),
        warm_moves=WARM_MOVES,
        degrees="°C" if there.units.value == "mm" else "°F",
        **_lamp(there, joint, bond),
        unanswered=answer.why if isinstance(answer, Unanswered) else (),
        path=bond_view.href(known, joint.id),
        back=there.path("bond"),
    )


def one_joint(answer: BondAnswer, bond: JointBond) -> BondAnswer:
    """Give the answer of one joint alone: its clocks are not said together with others."""
    return replace(answer, joints=(bond,))


def _asked(there: There, joint: Joint) -> tuple[LampAnswer | None, tuple[str, ...], bool]:
    """Give where to put the lamp, or why that is not known, and whether it is being worked out."""
    key = (there.known.name, there.known.log.head, joint.id)
    repair = there.known.repair
    found = there.answers.long(
        there.known, f"lamp {joint.id}", key, lamp_view.answer_or_why, repair, joint.id
    )
    answer = found.value if isinstance(found.value, LampAnswer) else None
    why = found.value if isinstance(found.value, tuple) else ()
    return answer, why, not found.current


def _lamp(there: There, joint: Joint, bond: JointBond | None) -> dict[str, object]:
    """Give what the page says of the lamp's place while it may still be chosen."""
    nothing: dict[str, object] = {"placing": None, "placing_why": (), "placing_making": False}
    if bond is None or bond.handle_min is None or bond.clock.lamp_on or bond.clock.released:
        return nothing
    answer, why, making = _asked(there, joint)
    view = lamp_view.view_of(answer, there.units) if answer else None
    return {"placing": view, "placing_why": why, "placing_making": making}


def _instruction(joint: Joint, bond: JointBond | None, answer: object) -> tuple[str, str]:
    if bond is None:
        why = "" if isinstance(answer, Unanswered) else "It is not bonded, or not opened."
        return f"{joint.label}: nothing to time.", why
    if bond.clock.closed is None:
        return f"Tap when the panel is on: the clocks of {joint.label} start then.", ""
    if bond.clock.released is not None:
        return f"{joint.label} is released.", ""
    if bond.clock.lamp_on is not None and bond.coldest_mm is not None:
        return f"Read the temperature of {joint.label} at its coldest place.", ""
    return f"Leave {joint.label} clamped and unloaded.", ""


def _coldest(there: There, bond: JointBond | None) -> str:
    if bond is None or bond.coldest_mm is None:
        return ""
    return show_length(bond.coldest_mm, there.units).partition(" ")[0].removesuffix(".0")


def _chart(there: There, bond: JointBond | None) -> charts.Chart:
    if bond is None or not bond.curve:
        return charts.NONE
    what = f"cure {bond.joint}"
    return charts.of(there.answers.long(there.known, what, bond, charts.cure_svg, bond))


def _passed(there: There, joint: str) -> list[tuple[str, str, str]]:
    """Give the moments of a joint: word, when, by whom."""
    found = []
    for event in there.known.repair.events:
        if event.joint == joint and event.kind in bond_view.EVENTS and event.at is not None:
            word = bond_view.EVENTS[event.kind]
            found.append((event.at, word, event.by or ""))
    return [(word, there.when.stamp(at), by) for at, word, by in sorted(found)]


@router.post("/repairs/{name}/cure/temperature")
def temperature(there: AtRepair, form: Sent) -> Response:
    """Take a temperature read now; its minute is counted from when the panel was on."""
    joint = _joint(there, form.value("joint"))
    along = form.length("along", there.units, need="How far from the joint’s start?")
    value = form.temperature("value", there.units, need="Type what the thermometer shows.")
    read_with = form.choice("with", dict(READ_WITH)) if form.value("with") else CONTACT
    emissivity = form.number("emissivity", least=0.02, most=1)
    infrared = {"with": "infrared", "on": read_with, "emissivity": emissivity}
    bond = bond_view.bond_of(there.answers.bond(there.known), joint.id)
    closed = bond.clock.closed if bond is not None else None
    passed = there.desk.settings.clock() - closed if closed is not None else None
    if passed is None:
        form.wrong("", "Tap “Panel on” first: a temperature counts from then.")
    elif passed < timedelta(0):
        form.wrong("", "The panel is on only later, by what was tapped: look at its time.")
    minute = round(passed.total_seconds() / 60.0, 1) if passed is not None else 0.0
    return save(
        there,
        form,
        lambda: [
            Say(
                "temperature",
                {
                    "joint": joint.id,
                    "along": along,
                    "minute": minute,
                    "value": value,
                    **({} if read_with in (None, CONTACT) else infrared),
                    "by": there.person.name,
                },
            )
        ],
        then=bond_view.href(there.known, joint.id),
        again=lambda: page(there, form, joint),
    )


@router.post("/repairs/{name}/cure/place")
def place(there: AtRepair, form: Sent) -> Response:
    """Plan the lamp as it was proposed; that replaces what was planned before."""
    joint = _joint(there, form.value("joint"))
    answer, _, making = _asked(there, joint)
    best = answer.advice.best if answer else None
    if making or answer is None or best is None:
        form.wrong("", "The lamp's places are worked out anew; look at them, then tap again.")

    def said() -> list[Say]:
        if answer is None or best is None:
            return []
        repair = there.known.repair
        first = next((one for one in repair.heatings if one.joint == joint.id), None)
        known = any(lamp.id == answer.lamp for lamp in repair.lamps)
        standing = {"joint": joint.id, "lamp": answer.lamp}
        if first is not None:
            kept = {
                "surface": first.surface,
                "back": first.back,
                "gap": str(first.gap.typed) if first.gap else None,
                "lies": first.lies,
            }
            standing |= {key: value for key, value in kept.items() if value is not None}
        return [
            *(
                withdrawal(str(fact.id), "the lamp is planned anew")
                for fact in _heatings(there, joint)
            ),
            *([] if known else [Say("lamp", {"id": answer.lamp})]),
            *(
                Say(
                    "heating",
                    {
                        **standing,
                        "distance": f"{one.distance_mm:.0f} mm",
                        "centre": [f"{one.along_mm:.0f} mm", "0 mm"],
                        "stays": [{"from": f"{one.from_min:g} min", "to": f"{one.to_min:g} min"}],
                    },
                )
                for one in best.standings
            ),
        ]

    return save(
        there,
        form,
        said,
        then=bond_view.href(there.known, joint.id),
        again=lambda: page(there, form, joint),
    )


def _heatings(there: There, joint: Joint) -> list[Fact]:
    """Give the facts that say where a lamp stands before a joint."""
    return [
        fact
        for fact in there.known.folded.facts
        if fact.kind == "heating" and fact.body.get("joint") == joint.id
    ]


@router.post("/repairs/{name}/cure/lamp")
def lamp(there: AtRepair, form: Sent) -> Response:
    """Take where the lamp stands and how long; it replaces what was planned before."""
    joint = _joint(there, form.value("joint"))
    lamp = form.text("lamp", need="Give the lamp a name.", most=120)
    distance = form.length("distance", there.units, need="How far does it stand off?")
    start = form.number("from", least=0, most=10_000) or 0.0
    end = form.number("to", least=1, most=10_000, need="How many minutes after the panel is on?")
    power = form.number("power", least=1, most=100_000)
    surface = form.choice("surface", dict(SURFACES), need="Choose what the lamp shines on.")
    back = form.choice("back", dict(BEHIND)) if form.value("back") else None
    lies = form.choice("lies", dict(LIES)) if form.value("lies") else None
    gap = form.length("gap", there.units)
    if end is not None and end <= start:
        form.wrong("to", "The lamp would be off before it is on.")
    before = _heatings(there, joint)

    def said() -> list[Say]:
        old = body_of(there.known, "lamp", lamp)
        device = {**old, "id": lamp, "power": f"{power:g} W" if power else old.get("power")}
        stay = {"from": f"{start:g} min", "to": f"{end:g} min"}
        standing = {"joint": joint.id, "lamp": lamp, "distance": distance}
        standing |= {"back": back, "gap": gap, "lies": lies}
        return [
            *(withdrawal(str(fact.id), "the lamp is planned anew") for fact in before),
            Say("lamp", device),
            Say("heating", {**standing, "stays": [stay], "surface": surface}),
        ]

    return save(
        there,
        form,
        said,
        then=bond_view.href(there.known, joint.id),
        again=lambda: page(there, form, joint),
    )
