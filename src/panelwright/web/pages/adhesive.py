"""Adhesives by their data sheets, entered on the page Bond."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.quantities import Temperature
from panelwright.web.anew import anew, body_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.pages import bond
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save

if TYPE_CHECKING:
    from panelwright.web.known import Known

router = APIRouter()
PAGE = Page("adhesive", "", 62, router)

TIMES = ("work", "handle", "full")
SAME_K = 0.5
"""Two figures of one time at temperatures closer than this are one figure, said anew."""


@router.post("/repairs/{name}/bond/adhesive")
def adhesive(there: AtRepair, form: Sent) -> Response:
    """Take an adhesive by its data sheet: its times, its limits, its batch."""
    identity = form.text("adhesive", need="Give its name, as on the cartridge.", most=120)
    given: dict[str, object] = {
        "kind": form.text("kind", most=120),
        "thickness": form.length("thickness", there.units),
        "cartridge": _with_unit(form.text("cartridge", most=40), "ml"),
        "limit": form.temperature("limit", there.units),
        "bake_limit": form.temperature("bake_limit", there.units),
        "lap_shear": _number(form, "lap_shear", "MPa", most=1000),
        "prepared_within": _number(form, "prepared_within", "min", most=100_000),
        "batch": form.text("batch", most=120),
        "use_by": form.text("use_by", most=10),
        "source": form.text("source", most=200),
    }
    given |= _bay_limits(there, form)
    rows = [row for event in TIMES if (row := _time(there, form, event)) is not None]
    if rows:
        said = {row["event"] for row in rows}
        kept = [row for row in rows_of(there.known, identity or "") if row.get("event") not in said]
        given["time"] = [*kept, *rows]
    new = {key: value for key, value in given.items() if value is not None}
    return save(
        there,
        form,
        lambda: [anew(there.known, "adhesive", identity, **new)],
        then=there.path("bond"),
        again=lambda: bond.page(there, form),
    )


def _bay_limits(there: There, form: Form) -> dict[str, object]:
    """Give the panel's temperatures and the humidity that the sheet allows."""
    low = form.temperature("apply_low", there.units)
    high = form.temperature("apply_high", there.units)
    if (low is None) != (high is None):
        form.wrong("apply_high" if high is None else "apply_low", "Give both ends, or none.")
    both = None if low is None or high is None else [low, high]
    return {"apply": both, "humidity": form.number("most_humidity", least=1, most=100)}


def rows_of(known: Known, identity: str) -> list[Mapping[str, object]]:
    """Give the times of an adhesive's data sheet as they are entered."""
    rows = body_of(known, "adhesive", identity).get("time")
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []


def _time(there: There, form: Form, event: str) -> dict[str, object] | None:
    """Give one figure of the data sheet: so many minutes at such a temperature."""
    minutes = form.number(f"{event}_time", least=1, most=100_000)
    at = form.temperature(f"{event}_at", there.units)
    if minutes is not None and at is None:
        form.wrong(f"{event}_at", "At which temperature? A time counts only with it.")
    return None if minutes is None else {"event": event, "at": at, "time": f"{minutes:g} min"}


def _number(form: Form, name: str, unit: str, *, most: float) -> str | None:
    number = form.number(name, least=0.01, most=most)
    return None if number is None else f"{number:g} {unit}"


def _with_unit(text: str | None, unit: str) -> str | None:
    bare = text is not None and text.replace(".", "", 1).isdigit()
    return f"{text} {unit}" if bare else text


@router.post("/repairs/{name}/bond/figure")
def figure(there: AtRepair, form: Sent) -> Response:
    """Take one more time of a data sheet; at the same temperature it replaces the one before."""
    identity = form.choice("of", there.known.repair.adhesive_by_id, need="Of which adhesive?")
    event = form.choice("event", TIMES, need="Choose which time it is.")
    minutes = form.number("time", least=1, most=100_000, need="How many minutes?")
    at = form.temperature("at", there.units, need="At which temperature?")
    row: dict[str, object] = {"event": event, "at": at, "time": f"{minutes or 0:g} min"}
    if strength := _number(form, "strength", "MPa", most=1000):
        row["strength"] = strength

    def others() -> list[Mapping[str, object]]:
        return [one for one in rows_of(there.known, identity or "") if not _same(one, row)]

    return save(
        there,
        form,
        lambda: [anew(there.known, "adhesive", identity, time=[*others(), row])],
        then=there.path("bond"),
        again=lambda: bond.page(there, form),
    )


def _same(one: Mapping[str, object], other: Mapping[str, object]) -> bool:
    if one.get("event") != other["event"]:
        return False
    here, there = (Temperature.parse(row.get("at")).celsius for row in (one, other))
    return abs(here - there) < SAME_K
