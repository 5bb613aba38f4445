"""All readings of a repair: what each showed, taken again or withdrawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.fit.answer import Answer as FitAnswer
from panelwright.fit.settings import ALWAYS, SISTER
from panelwright.quantities import in_units
from panelwright.web.fit_screen import reading_fact, reading_facts
from panelwright.web.fit_shown import value_words
from panelwright.web.fit_stages import ON_SISTER, Stage, stages_of
from panelwright.web.fit_targets import TOOL_WORDS, target_of_reading, words
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.worded import on_pages
from panelwright.web.writes import local, save, withdrawal

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.record import Unanswered

router = APIRouter()
PAGE = Page("fit/readings", "", 52, router)

REASONS = ("mistyped", "wrong point", "the tool slipped")


@dataclass(frozen=True)
class Row:
    """A reading on the list."""

    number: int
    fact: str
    words: str
    value: str
    tool: str
    person: str
    at: datetime
    recheck: bool
    notes: tuple[str, ...]
    again: str


@dataclass(frozen=True)
class Group:
    """The readings of a stage."""

    words: str
    rows: tuple[Row, ...]


@router.get("/repairs/{name}/fit/readings")
def readings(there: AtRepair) -> Response:
    """Show all readings, by stage."""
    return page(there, Form())


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    return show(
        there,
        "fit_readings.html",
        form=form,
        heading="Readings",
        path=there.path("fit"),
        again=there.path("fit/readings"),
        groups=_groups(there),
        total=len(there.known.repair.readings),
        reasons=REASONS,
        out=there.path("fit"),
    )


def _groups(there: There) -> tuple[Group, ...]:
    repair = there.known.repair
    fit, facts = there.answers.fit(there.known), reading_facts(there)
    stages = stages_of(repair)
    by_stage: dict[int, list[Row]] = {}
    for index in range(len(repair.readings)):
        number = stages.number_of(repair.readings[index], repair)
        by_stage.setdefault(number, []).append(_row(there, fit, index, facts[index]))
    names = {number: Stage(number).words for number in range(stages.all[-1].number + 1)}
    names[ALWAYS] = "Of the body, count in every dry fit"
    names[SISTER] = ON_SISTER.words
    return tuple(
        Group(names.get(number, f"Dry fit {number}"), tuple(reversed(rows)))
        for number, rows in sorted(by_stage.items(), reverse=True)
    )


def _row(there: There, fit: FitAnswer | Unanswered, index: int, fact: Fact) -> Row:
    repair = there.known.repair
    reading = repair.readings[index]
    target = target_of_reading(reading)
    place = f"reading[{index}]"
    notes, recheck = [], False
    if isinstance(fit, FitAnswer):
        own = [p.what for p in fit.problems if _is_at(p.where, place)]
        notes = [on_pages(in_units(what, there.units)) for what in own]
        recheck = any(row.suspect for row in fit.readings if row.index == index)
    told = reading.with_ or ""
    return Row(
        index,
        str(fact.id),
        words(target, repair) if target else f"Coordinates of {getattr(reading, 'point', '?')}",
        value_words(reading, repair, there.units),
        TOOL_WORDS.get(told, told),
        reading.by or fact.person,
        reading.at or fact.recorded_at,
        recheck,
        tuple(f"{note[:1].upper()}{note[1:]}." for note in notes),
        f"{there.path('fit/read')}?again={index}" if target else "",
    )


def _is_at(where: str, place: str) -> bool:
    return where == place or where.startswith(f"{place}.")


@router.post("/repairs/{name}/fit/withdraw")
def withdraw(there: AtRepair, form: Sent) -> Response:
    """Take a reading back, with the reason."""
    reason = form.text("own", most=500) or form.text(
        "reason", need="Say why: the reason stays in the log.", most=500
    )
    fact = reading_fact(there, form.value("fact"))
    if fact is None:
        form.wrong("", "There is no such reading any more; somebody may have withdrawn it.")
    return save(
        there,
        form,
        lambda: [withdrawal(str(fact.id if fact else ""), reason or "")],
        then=local(form.value("then"), there.path("fit/readings")),
        again=lambda: page(there, form),
    )
