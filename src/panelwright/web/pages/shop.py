"""Shop: which vehicle, by when, and what the shop has: hours, people, lamps."""

from __future__ import annotations

import re
from functools import cache
from zoneinfo import available_timezones

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.facts.checks.shop import shop_fits
from panelwright.facts.document import data_of
from panelwright.facts.file import document_from
from panelwright.quantities import show_length
from panelwright.web.anew import anew, body_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.pages.start import DRIVES
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, facts_of, save

router = APIRouter()
PAGE = Page("shop", "Vehicle, shop", 15, router)

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_STRETCH = re.compile(r"\s*[,;\n]\s*|\s+(?=\d)")
_DASH = re.compile(r"\s*[-\u2013\u2212]\s*")


@cache
def zones() -> tuple[str, ...]:
    """Give the time zones of the world by name."""
    return tuple(sorted(zone for zone in available_timezones() if "/" in zone or zone == "UTC"))


@router.get("/repairs/{name}/shop")
def shop(there: AtRepair) -> Response:
    """Show vehicle, order and shop."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    repair = there.known.repair
    words, why = _instruction(there)
    promised = repair.repair.promised
    return show(
        there,
        "shop.html",
        form=form,
        heading="Vehicle, shop",
        instruction=words,
        why=why,
        vehicle=repair.vehicle,
        drives=DRIVES,
        promised=there.when.here(promised).strftime("%Y-%m-%dT%H:%M") if promised else "",
        note=repair.repair.note or "",
        procedure={
            key: str(body_of(there.known, "procedure").get(key) or "")
            for key in ("reference", "revision", "read_on")
        },
        shop=repair.shop,
        hours=", ".join(repair.shop.shift),
        days=[(day, day in repair.shop.days) for day in DAYS],
        zones=[(zone, zone.replace("_", " ")) for zone in zones()],
        bake=str(body_of(there.known, "shop").get("bake") or ""),
        alike=show_length(repair.symmetry.u.mm, there.units).partition(" ")[0],
        local=there.when.clock(there.desk.settings.clock()),
        path=there.path("shop"),
    )


def _instruction(there: There) -> tuple[str, str]:
    if not body_of(there.known, "procedure").get("reference"):
        why = "It governs; nothing is cut before it was read."
        return "Name the maker’s procedure and its revision.", why
    if "shift" not in body_of(there.known, "shop"):  # the zone alone came from a browser
        why = "Every time on these pages follows from them."
        return "Say when the shop works, and with how many people.", why
    return "Vehicle, procedure and shop are entered.", "Change here what has changed."


@router.post("/repairs/{name}/shop/vehicle")
def vehicle(there: AtRepair, form: Sent) -> Response:
    """Take the vehicle, the procedure that governs, and by when it is promised."""
    label = form.text("label", most=200)
    drive = form.choice("drive", [one for one, _ in DRIVES], need="Choose what drives it.")
    reference = form.text("reference", most=300)
    revision = form.text("revision", most=60)
    read_on = form.text("read_on", most=10)
    now = there.when.here(there.desk.settings.clock())
    promised = form.moment("promised", now)
    note = form.text("note", most=1000)
    if reference is None and (revision or read_on):
        form.wrong("reference", "Which procedure? Give its number or title.")

    def said() -> list[Say]:
        facts = [
            anew(there.known, "vehicle", label=label or "", drive=drive),
            anew(there.known, "repair", promised=promised, note=note),
        ]
        if reference is not None:
            given = {"reference": reference, "revision": revision, "read_on": read_on}
            facts.append(anew(there.known, "procedure", None, **given))
        return [one for one in facts if one.body != body_of(there.known, one.kind)]

    return save(there, form, said, then=there.path("shop"), again=lambda: page(there, form))


@router.post("/repairs/{name}/shop/shop")
def hours(there: AtRepair, form: Sent) -> Response:
    """Take hours, days, time zone, people and lamps."""
    zone = form.choice("zone", zones(), need="Choose where the shop is.")
    text = form.text("shift", need="Say the hours, such as 07:30-12:00, 12:30-16:30.", most=300)
    days = [day for day in DAYS if form.value(f"day-{day}")]
    told: dict[str, object] = {
        "zone": zone,
        "shift": [one for one in _STRETCH.split(_DASH.sub("-", text or "")) if one],
        "days": days,
        "technicians": _whole(form, "technicians", least=1, need="How many people?"),
        "lamps": _whole(form, "lamps", least=0, need="How many lamps? 0 where there is none."),
    }
    sure = form.number("sure", least=51, most=99.9, need="How sure must a verdict be, in %?")
    if form.ok:
        _look(there, form, told)
    told["bake"] = form.temperature("bake", there.units)
    told["confidence"] = None if sure is None else sure / 100.0
    alike = form.length("alike", there.units, need="How alike are the two sides built?")

    def said() -> list[Say]:
        return [anew(there.known, "shop", **told), anew(there.known, "symmetry", u=alike)]

    return save(there, form, said, then=there.path("shop"), again=lambda: page(there, form))


def _look(there: There, form: Form, told: dict[str, object]) -> None:
    """Say at its field what a plan could not use."""
    fact = facts_of(there, [there.known.log.facts[0].id], [Say("shop", told)])
    for problem in shop_fits(document_from(data_of(fact))):
        key = problem.where.removeprefix("shop.").partition("[")[0]
        form.wrong("day-Mon" if key == "days" else key, f"{problem.what}.")


def _whole(form: Form, name: str, *, least: int, need: str) -> int | None:
    number = form.number(name, least=least, most=50, need=need)
    if number is not None and number != int(number):
        form.wrong(name, f"{number:g}: expected a whole number.")
    return None if number is None else int(number)
