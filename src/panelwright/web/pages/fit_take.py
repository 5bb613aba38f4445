"""Taking readings: one after the other from a list, or one that is chosen by tapping."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.fit.settings import ALWAYS
from panelwright.quantities import Length
from panelwright.web.fit_list import about_mm, next_after
from panelwright.web.fit_pick import kinds_there, partial_of, pick_of
from panelwright.web.fit_said import GAP_WORDS, NOT_READ, body_of
from panelwright.web.fit_screen import (
    END,
    Asked,
    Choice,
    Mode,
    Step,
    following,
    lately,
    lines_of,
    listed,
    reading_fact,
    reading_facts,
    screen_of,
    step_of,
    steps_of,
)
from panelwright.web.fit_stages import Stage, stages_of
from panelwright.web.fit_targets import (
    Read,
    Target,
    is_there,
    target_of,
    target_of_reading,
    tools_for,
)
from panelwright.web.fit_view import about_words, read_path, take_path
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.pages.fit import CAUTIONS
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import Say, save, see, withdrawal

if TYPE_CHECKING:
    from collections.abc import Sequence

router = APIRouter()
PAGE = Page("fit/take", "", 51, router)

FAR_SHARE, FAR_MM = 0.15, 60.0
"""A span that is off the expected one by more is asked about: a digit may be missing."""


@router.get("/repairs/{name}/fit/take")
def take(
    there: AtRepair, stage: str = "", at: str = "", after: str = "", gap: str = ""
) -> Response:
    """Show a reading of the list, the next one `after` another, or the list as a whole."""
    chosen = _stage(there, stage)
    if not at:
        line = next_after(lines_of(there, stages_of(there.known.repair), chosen), after)
        at = line.target.key if line else END
    target = target_of(at)
    if target is None or not is_there(target, there.known.repair):
        return _whole(there, chosen)
    return _screen(there, Form(), Asked(target, chosen, Mode.LIST, gap=gap))


def _whole(there: There, stage: Stage) -> Response:
    stages = stages_of(there.known.repair)
    path = there.path("fit")
    lines = listed(there, stage)
    return show(
        there,
        "fit_list.html",
        heading=f"Readings, {stage.words.lower()}",
        path=there.path("fit"),
        again=take_path(path, stage, END),
        stage=stage,
        stages=[
            Choice(one.words, take_path(path, one, END), one == stage)
            for one in stages.for_read(is_of_points=True)
        ],
        lines=lines,
        left=sum(not line.value for line in lines),
        first=next((line.path for line in lines if not line.value), ""),
        out=path,
        cautions=CAUTIONS if stage.is_fit else (),
        lately=lately(there),
    )


def _stage(there: There, key: str) -> Stage:
    stages = stages_of(there.known.repair)
    return stages.of(key) or stages.now


def _screen(there: There, form: Form, asked: Asked) -> Response:
    screen = screen_of(there, asked)
    return show(
        there,
        "fit_reading.html",
        form=form,
        heading=screen.words,
        path=there.path("fit"),
        again=screen.here,
        screen=screen,
        Read=Read,
        Step=Step,
    )


@router.get("/repairs/{name}/fit/read")
def read(
    there: AtRepair, of: str = "", stage: str = "", again: str = "", gap: str = ""
) -> Response:
    """Choose a reading by tapping, then show its screen; `again` is one to take anew."""
    repair = there.known.repair
    path = there.path("fit")
    if again.isdecimal() and int(again) < len(repair.readings):
        return _again(there, int(again))
    target = target_of(of)
    if target is not None and is_there(target, repair):
        chosen = _stage(there, stage)
        return _screen(there, Form(), Asked(target, chosen, Mode.ONE, again, gap))
    partial = partial_of(of)
    more = f"&stage={stage}" if stage and _stage(there, stage).key == stage else ""
    if partial is None or partial.is_whole:
        return show(
            there,
            "fit_kinds.html",
            heading="Take a reading",
            path=there.path("fit"),
            again=f"{path}/read",
            kinds=kinds_there(repair, path, more),
            out=path,
        )
    return show(
        there,
        "fit_pick.html",
        heading="Take a reading",
        path=there.path("fit"),
        again=f"{read_path(path, of)}{more}",
        pick=pick_of(repair, partial, path, more),
        out=path,
    )


def _again(there: There, index: int) -> Response:
    """Go to the screen of a reading that is taken anew, in the stage in which it was taken."""
    repair = there.known.repair
    target = target_of_reading(repair.readings[index])
    if target is None or not is_there(target, repair):
        return see(there.path("fit/readings"))
    number = stages_of(repair).number_of(repair.readings[index], repair)
    stage = stages_of(repair).now if number == ALWAYS else Stage(number)
    fact = reading_facts(there)[index]
    of = read_path(there.path("fit"), target.key)
    return see(f"{of}&stage={stage.key}&again={fact.id}")


@router.post("/repairs/{name}/fit/reading")
def store(there: AtRepair, form: Sent) -> Response:
    """Store a reading and go on; where it is taken anew the old one is withdrawn with it."""
    repair = there.known.repair
    target = target_of(form.value("of"))
    if target is None or not is_there(target, repair):
        raise HTTPException(404)
    asked = Asked(
        target,
        _stage(there, form.value("stage")),
        Mode.LIST if form.value("mode") == Mode.LIST.value else Mode.ONE,
        form.value("again"),
        form.value("said_gap"),
    )
    if step_of(target, repair, asked.gap) is Step.GAP and Step.FLUSH in steps_of(target, repair):
        return _after_gap(there, form, asked)
    body = body_of(form, target, repair, there.units)
    tool = form.choice("with", [one for one, _ in tools_for(target.kind, repair)], need="")
    _asked_where_far(there, form, target)

    def said() -> Sequence[Say]:
        at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()
        when = stages_of(repair).said(asked.stage, target, repair)
        told = {**body, "with": tool, **when, "at": at, "by": there.person.name}
        is_there_still = reading_fact(there, asked.again) is not None
        old = [withdrawal(asked.again, "taken again")] if is_there_still else []
        return [*old, Say("reading", told)]

    return save(
        there,
        form,
        said,
        then=_then(there, form, asked),
        again=lambda: _screen(there, form, asked),
    )


def _after_gap(there: There, form: Form, asked: Asked) -> Response:
    """Go on to the flush of a station; gap and flush are stored together."""
    word = form.choice("gap_word", [one for one, _ in GAP_WORDS] + [NOT_READ], need="")
    gap = form.length("gap", there.units) or word
    if gap is None:
        form.wrong("gap", "Type the gap, or tap a word.")
    if not form.ok or gap is None:
        return _screen(there, form, asked)
    return see(replace(asked, gap=gap).here(there.path("fit")))


def _asked_where_far(there: There, form: Form, target: Target) -> None:
    """Ask about a span that is far from what the other readings expect."""
    value = form.length("value", there.units) if target.kind is Read.SPAN else None
    if value is None or not form.ok or form.value("sure"):
        return
    about = about_mm(target, there.known.repair, there.answers.fit(there.known))
    typed = Length.parse(value).mm
    if about is not None and abs(typed - about) > max(FAR_MM, FAR_SHARE * about):
        expected = about_words(about, there.units)
        form.wrong("value", f"{value}: by the other readings about {expected} was expected.")
        form.wrong("sure", "Is it right?")


def _then(there: There, form: Form, asked: Asked) -> str:
    path, stage = there.path("fit"), asked.stage
    if asked.mode is Mode.LIST:
        return following(path, stage, asked.target.key)
    if form.value("go") == "more":
        kind = Target(asked.target.kind, ()).key
        return f"{read_path(path, kind)}&stage={stage.key}"
    return path
