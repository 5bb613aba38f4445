"""Taking readings: one after the other from a list, or one that is chosen by tapping."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.quantities import Length
from panelwright.web.fit_list import about_mm, next_after
from panelwright.web.fit_pick import kinds_there, partial_of, pick_of
from panelwright.web.fit_said import body_of
from panelwright.web.fit_screen import (
    Choice,
    Screen,
    following,
    lately,
    lines_of,
    listed,
    reading_fact,
    reading_facts,
    screen_of,
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

END = "end"
LIST, ONE = "list", "one"
FAR_SHARE, FAR_MM = 0.15, 60.0
"""A span that is off the expected one by more is asked about: a digit may be missing."""


@router.get("/repairs/{name}/fit/take")
def take(there: AtRepair, stage: str = "", at: str = "", after: str = "") -> Response:
    """Show a reading of the list, the next one `after` another, or the list as a whole."""
    chosen = _stage(there, stage)
    if not at:
        line = next_after(lines_of(there, stages_of(there.known.repair), chosen), after)
        at = line.target.key if line else END
    target = target_of(at)
    if target is None or not is_there(target, there.known.repair):
        return _whole(there, chosen)
    return _screen(there, Form(), screen_of(there, target, chosen, LIST))


def _whole(there: There, stage: Stage) -> Response:
    stages = stages_of(there.known.repair)
    path = there.path("fit")
    lines = listed(there, stage)
    return show(
        there,
        "fit_list.html",
        heading=f"Readings, {stage.words.lower()}",
        path=take_path(path, stage, END),
        stage=stage,
        stages=[Choice(one.words, take_path(path, one, END), one == stage) for one in stages.all],
        lines=lines,
        left=sum(not line.value for line in lines),
        first=next((line.path for line in lines if not line.value), ""),
        out=path,
        cautions=CAUTIONS if stage.number else (),
        lately=lately(there),
    )


def _stage(there: There, key: str) -> Stage:
    stages = stages_of(there.known.repair)
    return stages.of(key) or stages.now


def _screen(there: There, form: Form, screen: Screen) -> Response:
    return show(
        there,
        "fit_reading.html",
        form=form,
        heading=screen.words,
        path=screen.here,
        screen=screen,
        Read=Read,
    )


@router.get("/repairs/{name}/fit/read")
def read(there: AtRepair, of: str = "", stage: str = "", again: str = "") -> Response:
    """Choose a reading by tapping, then show its screen; `again` is one to take anew."""
    repair = there.known.repair
    path = there.path("fit")
    if again.isdecimal() and int(again) < len(repair.readings):
        return _again(there, int(again))
    target = target_of(of)
    if target is not None and is_there(target, repair):
        chosen = _stage(there, stage)
        return _screen(there, Form(), screen_of(there, target, chosen, ONE, again))
    partial = partial_of(of)
    more = f"&stage={stage}" if stage and _stage(there, stage).key == stage else ""
    if partial is None or partial.is_whole:
        return show(
            there,
            "fit_kinds.html",
            heading="Take a reading",
            path=f"{path}/read",
            kinds=kinds_there(repair, path, more),
            out=path,
        )
    return show(
        there,
        "fit_pick.html",
        heading="Take a reading",
        path=f"{read_path(path, of)}{more}",
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
    stage = Stage(number) if number >= 0 else stages_of(repair).now
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
    stage = _stage(there, form.value("stage"))
    mode = LIST if form.value("mode") == LIST else ONE
    body = body_of(form, target, repair, there.units)
    tool = form.choice("with", [one for one, _ in tools_for(target.kind, repair)], need="")
    _asked_where_far(there, form, target)
    again = form.value("again")

    def said() -> Sequence[Say]:
        at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()
        when = stages_of(repair).said(stage, target, repair)
        told = {**body, "with": tool, **when, "at": at, "by": there.person.name}
        old = [withdrawal(again, "taken again")] if reading_fact(there, again) else []
        return [*old, Say("reading", told)]

    return save(
        there,
        form,
        said,
        then=_then(there, form, target, stage, mode),
        again=lambda: _screen(there, form, screen_of(there, target, stage, mode, again)),
    )


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


def _then(there: There, form: Form, target: Target, stage: Stage, mode: str) -> str:
    path = there.path("fit")
    if mode == LIST:
        return following(path, stage, target.key)
    if form.value("go") == "more":
        kind = Target(target.kind, ()).key
        return f"{read_path(path, kind)}&stage={stage.key}"
    return path
