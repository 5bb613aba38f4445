"""The screen on which one reading is taken, alone or from the list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.facts.entry import Fact
from panelwright.quantities import Units, show_length
from panelwright.web.fit_list import Wanted, about_mm, wanted
from panelwright.web.fit_shown import value_words
from panelwright.web.fit_stages import Stage, Stages, stages_of
from panelwright.web.fit_targets import (
    Read,
    Target,
    detail,
    instruction,
    target_of_reading,
    tools_for,
    usual_tool,
    words,
)
from panelwright.web.fit_view import about_words, read_path, take_path
from panelwright.web.fit_ways import Way, ways_of

if TYPE_CHECKING:
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.web.visit import There

LATELY = timedelta(minutes=30)


@dataclass(frozen=True)
class Choice:
    """A big button that leads somewhere."""

    words: str
    path: str
    chosen: bool = False


@dataclass(frozen=True)
class Lately:
    """What this person stored last, to be taken back where it was mistyped."""

    fact: str
    words: str
    at: datetime


@dataclass(frozen=True)
class Screen:
    """One reading, as large as the screen allows.

    Attributes
    ----------
    mode : str
        "list" or "one": where it goes on once it is stored.
    again : str
        Id of the reading that this one replaces; empty where it is new.
    was : str
        What that one showed.
    place : str
        Where in the list, such as "3 of 17".
    """

    target: Target
    words: str
    detail: str
    wants: str
    about: str
    stage: Stage
    stages: tuple[Choice, ...]
    tools: tuple[tuple[str, str], ...]
    tool: str
    ways: tuple[Way, ...]
    mode: str
    again: str
    was: str
    place: str
    here: str
    back: str
    skip: str
    out: str
    lately: Lately | None


@dataclass(frozen=True)
class Line:
    """A reading on the list as a whole."""

    words: str
    value: str
    why: str
    path: str


def lines_of(there: There, stages: Stages, stage: Stage) -> tuple[Wanted, ...]:
    """Give the list of a stage."""
    repair = there.known.repair
    return wanted(repair, stages, stage, there.answers.fit(there.known))


def screen_of(there: There, target: Target, stage: Stage, mode: str, again: str = "") -> Screen:
    """Give the screen of a target."""
    repair = there.known.repair
    stages = stages_of(repair)
    lines = lines_of(there, stages, stage) if mode == "list" else ()
    fact = reading_fact(there, again) or _on_list(there, lines, target)
    tool = usual_tool(target, repair)
    tools = tools_for(target.kind, repair)
    about = about_mm(target, repair, there.answers.fit(there.known))
    key = target.key
    path = there.path("fit")
    one = f"{read_path(path, key)}&stage={stage.key}" + (f"&again={again}" if again else "")
    return Screen(
        target=target,
        words=instruction(target, repair, dict(tools).get(tool, tool)),
        detail=detail(target, repair),
        wants=_wants(target, repair, there.units),
        about=about_words(about, there.units) if about is not None else "",
        stage=stage,
        stages=tuple(_at(there, target, other, stage, mode) for other in stages.all),
        tools=tools,
        tool=tool,
        ways=_ways(target, repair),
        mode=mode,
        again=str(fact.id) if fact else "",
        was=_value(there, fact),
        place=_place(lines, key),
        here=take_path(path, stage, key) if mode == "list" else one,
        back=_back(path, lines, stage, key) if mode == "list" else f"{path}/read",
        skip=following(path, stage, key) if mode == "list" else "",
        out=path,
        lately=lately(there),
    )


def _at(there: There, target: Target, other: Stage, stage: Stage, mode: str) -> Choice:
    path = there.path("fit")
    to = (
        take_path(path, other)
        if mode == "list"
        else f"{read_path(path, target.key)}&stage={other.key}"
    )
    return Choice(other.words, to, other == stage)


def following(path: str, stage: Stage, key: str) -> str:
    """Give the address of what comes after a reading: the next that is not there, or the end."""
    return f"{path}/take?stage={stage.key}&after={quote(key, safe='')}"


def _back(path: str, lines: tuple[Wanted, ...], stage: Stage, key: str) -> str:
    keys = [line.target.key for line in lines]
    at = keys.index(key) if key in keys else 0
    return take_path(path, stage, keys[at - 1]) if at else take_path(path, stage, "end")


def _place(lines: tuple[Wanted, ...], key: str) -> str:
    keys = [line.target.key for line in lines]
    return f"{keys.index(key) + 1} of {len(keys)}" if key in keys else ""


def _on_list(there: There, lines: tuple[Wanted, ...], target: Target) -> Fact | None:
    index = next((line.index for line in lines if line.target.key == target.key), None)
    return None if index is None else reading_facts(there)[index]


def reading_facts(there: There) -> tuple[Fact, ...]:
    """Give the facts of the repair's readings, in the same order."""
    return tuple(fact for fact in there.known.folded.facts if fact.kind == "reading")


def reading_fact(there: There, identity: str) -> Fact | None:
    """Give the standing reading with an id."""
    return next((fact for fact in reading_facts(there) if str(fact.id) == identity), None)


def reading_of(there: There, fact: Fact) -> Reading:
    """Give a fact's reading."""
    index = next(n for n, one in enumerate(reading_facts(there)) if one.id == fact.id)
    return there.known.repair.readings[index]


def _value(there: There, fact: Fact | None) -> str:
    if fact is None:
        return ""
    return value_words(reading_of(there, fact), there.known.repair, there.units)


def lately(there: There) -> Lately | None:
    """Give what this person stored in the last half hour, the newest."""
    now = there.desk.settings.clock()
    for fact in reversed(reading_facts(there)):
        if fact.person != there.person.name or now - fact.recorded_at > LATELY:
            continue
        reading = reading_of(there, fact)
        target = target_of_reading(reading)
        if target is None:
            return None
        repair = there.known.repair
        said = f"{words(target, repair)}: {value_words(reading, repair, there.units)}"
        return Lately(str(fact.id), said, fact.recorded_at)
    return None


def _wants(target: Target, repair: Repair, units: Units) -> str:
    if target.kind is not Read.STATION:
        return ""
    station = next(one for one in repair.stations if one.id == target.names[0])
    said = [
        f"{name} {show_length(check.want.mm, units)}"
        + (f" ± {show_length(check.tolerance.mm, units)}" if check.tolerance else "")
        for name, check in (("gap", station.gap), ("flush", station.flush))
        if check is not None
    ]
    return f"Wanted: {', '.join(said)}." if said else ""


def _ways(target: Target, repair: Repair) -> tuple[Way, ...]:
    if target.kind is not Read.LOCATOR:
        return ()
    return ways_of(next(one for one in repair.locators if one.id == target.names[0]))


def listed(there: There, stage: Stage) -> tuple[Line, ...]:
    """Give the whole list of a stage, with what is there already."""
    repair = there.known.repair
    path = there.path("fit")
    return tuple(
        Line(
            words(line.target, repair),
            value_words(repair.readings[line.index], repair, there.units)
            if line.index is not None
            else "",
            line.why,
            take_path(path, stage, line.target.key),
        )
        for line in lines_of(there, stages_of(repair), stage)
    )
