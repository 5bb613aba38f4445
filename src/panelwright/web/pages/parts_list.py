"""Parts list: shortages first; what is here by one tap, and when the rest arrives."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.plan.answer import PlanAnswer
from panelwright.record import Unanswered
from panelwright.web import parts_view
from panelwright.web.anew import anew
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.parts_view import Thing
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save

router = APIRouter()
PAGE = Page("parts", "Parts list", 30, router)


@router.get("/repairs/{name}/parts")
def parts(there: AtRepair) -> Response:
    """Show the parts list."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    planned = there.answers.plan(there.known)
    answer = planned.answer if isinstance(planned.answer, PlanAnswer) else None
    unanswered = planned.answer.why if isinstance(planned.answer, Unanswered) else ()
    repair, now = there.known.repair, there.when.here(there.desk.settings.clock())
    found = parts_view.lists(answer, repair) if answer else None
    shelves = parts_view.shelves(repair, now.date())
    words = parts_view.instruction(found, old=any(shelf.word == "too old" for shelf in shelves))
    if unanswered:
        words = ("What is needed cannot be said yet.", unanswered[0], "")
    elif not repair.parts:
        words = ("Say what is damaged first.", "It is entered on the page Findings.", "")
    return show(
        there,
        "parts_list.html",
        form=form,
        heading="Parts list",
        instruction=words,
        lists=found,
        making=not planned.current,
        unanswered=unanswered,
        shelves=shelves,
        path=there.path("parts"),
    )


@router.post("/repairs/{name}/parts/here")
def here(there: AtRepair, form: Sent) -> Response:
    """Take whether a part is here."""
    part = form.choice("part", there.known.repair.part_by_id, need="Which part?")
    answer = form.choice("here", ("yes", "no"), need="Tap whether it is here.")
    found = there.known.repair.part_by_id.get(part or "")
    arrives = None if answer == "yes" or found is None else found.arrives
    return save(
        there,
        form,
        lambda: [
            anew(
                there.known,
                "part",
                part,
                on_hand=answer == "yes",
                arrives=arrives.isoformat() if arrives else None,
            )
        ],
        then=there.path("parts"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/parts/arrives")
def arrives(there: AtRepair, form: Sent) -> Response:
    """Take when a part arrives."""
    part = form.choice("part", there.known.repair.part_by_id, need="Which part?")
    now = there.when.here(there.desk.settings.clock())
    moment = form.moment("arrives", now, need="Say on which day and at what time.")
    return save(
        there,
        form,
        lambda: [anew(there.known, "part", part, on_hand=False, arrives=moment)],
        then=there.path("parts"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/parts/count")
def count(there: AtRepair, form: Sent) -> Response:
    """Take how many rivets or cartridges are on the shelf."""
    repair = there.known.repair
    kind = form.choice("kind", (Thing.RIVET, Thing.ADHESIVE), need="What was counted?")
    known = {
        Thing.RIVET: {rivet.id for rivet in repair.rivets},
        Thing.ADHESIVE: set(repair.adhesive_by_id),
    }
    ids = known[Thing(kind)] if kind is not None else set()
    identity = form.choice("thing", ids, need="What was counted?")
    number = form.number("on_hand", least=0, most=100_000, need="Count them.")
    if number is not None and number != int(number):
        form.wrong("on_hand", f"{number:g}: expected a whole number.")
    return save(
        there,
        form,
        lambda: [anew(there.known, str(kind), identity, on_hand=int(number or 0))],
        then=there.path("parts"),
        again=lambda: page(there, form),
    )


@router.post("/repairs/{name}/parts/batch")
def batch(there: AtRepair, form: Sent) -> Response:
    """Take batch and date of the adhesive that is on the shelf."""
    identity = form.choice("adhesive", there.known.repair.adhesive_by_id, need="Which adhesive?")
    number = form.text("batch", need="Copy the batch from the cartridge.", most=120)
    use_by = form.text("use_by", need="Copy the date from the cartridge.", most=10)
    return save(
        there,
        form,
        lambda: [anew(there.known, "adhesive", identity, batch=number, use_by=use_by)],
        then=there.path("parts"),
        again=lambda: page(there, form),
    )
