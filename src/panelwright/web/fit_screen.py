"""The screen on which one reading is taken, alone or from the list."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.facts.entry import Fact
from panelwright.quantities import Units, show_length
from panelwright.web.fit_list import Wanted, about_mm, wanted
from panelwright.web.fit_shown import value_words
from panelwright.web.fit_stages import Stage, Stages, stages_of
from panelwright.web.fit_targets import (
    POINTS,
    Read,
    Target,
    detail,
    instruction,
    place_label,
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
END = "end"


class Mode(StrEnum):
    """Where it goes on once a reading is stored: with the next of the list, or back."""

    LIST = "list"
    ONE = "one"


class Step(StrEnum):
    """At a station gap and flush are read one after the other."""

    GAP = "gap"
    FLUSH = "flush"

    def words(self, place: str) -> str:
        """Say what is read."""
        return f"{self.value.capitalize()}: {place}"


def step_of(target: Target, repair: Repair, gap: str) -> Step | None:
    """Give what is read now at a station; None where it is none."""
    if target.kind is not Read.STATION:
        return None
    checks = steps_of(target, repair)
    return Step.FLUSH if gap or Step.GAP not in checks else Step.GAP


def steps_of(target: Target, repair: Repair) -> tuple[Step, ...]:
    """Give what is checked at a station; both where it does not say."""
    station = next(one for one in repair.stations if one.id == target.names[0])
    found = [Step.GAP] if station.gap is not None else []
    found += [Step.FLUSH] if station.flush is not None else []
    return tuple(found) or tuple(Step)


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
    mode : Mode
    again : str
        Id of the reading that this one replaces; empty where it is new.
    was : str
        What that one showed.
    place : str
        Where in the list, such as "3 of 17".
    step, gap
        At a station what is read now, and the gap that was said a moment ago.
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
    mode: Mode
    again: str
    was: str
    place: str
    here: str
    back: str
    skip: str
    out: str
    lately: Lately | None
    step: Step | None
    gap: str


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


@dataclass(frozen=True)
class Asked:
    """What a screen is asked for.

    Attributes
    ----------
    mode : Mode
    again : str
        Id of a reading that is taken anew.
    gap : str
        At a station the gap as it was said a moment ago, `NOT_READ` where it is not checked; empty
        where it comes first.
    """

    target: Target
    stage: Stage
    mode: Mode
    again: str = ""
    gap: str = ""

    def here(self, path: str) -> str:
        """Give the address of the screen; `path` is that of the page Fit."""
        gap = f"&gap={quote(self.gap, safe='')}" if self.gap else ""
        if self.mode is Mode.LIST:
            return take_path(path, self.stage, self.target.key) + gap
        again = f"&again={self.again}" if self.again else ""
        return f"{read_path(path, self.target.key)}&stage={self.stage.key}{again}{gap}"


def screen_of(there: There, asked: Asked) -> Screen:
    """Give the screen of a target."""
    repair = there.known.repair
    target, stage, path = asked.target, asked.stage, there.path("fit")
    on_list = asked.mode is Mode.LIST
    lines = lines_of(there, stages_of(repair), stage) if on_list else ()
    fact = reading_fact(there, asked.again) or _on_list(there, lines, target)
    tool, tools = usual_tool(target, repair), tools_for(target.kind, repair)
    step = step_of(target, repair, asked.gap)
    about = about_mm(target, repair, there.answers.fit(there.known))
    return Screen(
        target=target,
        words=step.words(place_label(target, repair))
        if step
        else instruction(target, repair, dict(tools).get(tool, tool)),
        detail=detail(target, repair),
        wants=_wants(target, repair, there.units, step),
        about=about_words(about, there.units) if about is not None else "",
        stage=stage,
        stages=tuple(
            _at(path, replace(asked, stage=one), stage)
            for one in stages_of(repair).for_read(target.kind in POINTS)
        ),
        tools=tools,
        tool=tool,
        ways=_ways(target, repair),
        mode=asked.mode,
        again=str(fact.id) if fact else "",
        was=_value(there, fact),
        place=_place(lines, target.key),
        here=asked.here(path),
        back=_back(path, lines, asked),
        skip=following(path, stage, target.key) if on_list else "",
        out=path,
        lately=lately(there),
        step=step,
        gap=asked.gap,
    )


def _at(path: str, asked: Asked, stage: Stage) -> Choice:
    other = asked.stage
    to = take_path(path, other) if asked.mode is Mode.LIST else asked.here(path)
    return Choice(other.words, to, other == stage)


def following(path: str, stage: Stage, key: str) -> str:
    """Give the address of what comes after a reading: the next that is not there, or the end."""
    return f"{path}/take?stage={stage.key}&after={quote(key, safe='')}"


def _back(path: str, lines: tuple[Wanted, ...], asked: Asked) -> str:
    key, stage = asked.target.key, asked.stage
    if asked.gap:
        return replace(asked, gap="").here(path)
    if asked.mode is Mode.ONE:
        return f"{path}/read"
    keys = [line.target.key for line in lines]
    at = keys.index(key) if key in keys else 0
    return take_path(path, stage, keys[at - 1]) if at else take_path(path, stage, END)


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


def _wants(target: Target, repair: Repair, units: Units, step: Step | None) -> str:
    if step is None:
        return ""
    station = next(one for one in repair.stations if one.id == target.names[0])
    check = station.gap if step is Step.GAP else station.flush
    if check is None:
        return ""
    within = f" ± {show_length(check.tolerance.mm, units)}" if check.tolerance else ""
    return f"Wanted: {show_length(check.want.mm, units)}{within}."


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
