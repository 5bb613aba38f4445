"""Does closing fit in the work time, and what may be done now: as the pages show it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright import plan
from panelwright.bond.clock_checks import future_problems
from panelwright.bond.clocks import zone_of
from panelwright.bond.may_do import May, begun, may_do
from panelwright.plan.closing import closings
from panelwright.plan.closing_answer import Closing, Fits, Pause
from panelwright.plan.closing_words import (
    counted_words,
    headline,
    pace_words,
    pause_words,
    way_words,
)
from panelwright.plan.library import cautions
from panelwright.quantities import show_minutes, show_temperature
from panelwright.record import Unanswered
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.bond.answer import BondAnswer
    from panelwright.bond.may_do import MayDo
    from panelwright.facts.problem import Problem
    from panelwright.sources import Source
    from panelwright.web.visit import There

VERDICTS: Mapping[Fits, tuple[Sign, str]] = {
    Fits.YES: (Sign.GOOD, "fits"),
    Fits.TIGHT: (Sign.UNSURE, "tight"),
    Fits.NO: (Sign.BAD, "does not fit"),
    Fits.UNKNOWN: (Sign.ASK, "not known"),
}
MAYS: Mapping[May, Sign] = {
    May.YES: Sign.GOOD,
    May.LATER: Sign.WAIT,
    May.ASK: Sign.ASK,
    May.NO: Sign.BAD,
}


@dataclass(frozen=True)
class WayLine:
    """One way to make it fit."""

    sign: Sign
    word: str
    words: str


@dataclass(frozen=True)
class FitsIn:
    """Whether closing a panel fits in the work time.

    Attributes
    ----------
    pairs : tuple of (str, str, str)
        What, how much, and what goes with it.
    stop : str
        Why the adhesive is not started like this; empty where it may be.
    """

    sign: Sign
    word: str
    ways: tuple[WayLine, ...]
    pairs: tuple[tuple[str, str, str], ...]
    problems: tuple[str, ...]
    pieces: tuple[str, ...]
    sources: tuple[Source, ...]
    stop: str


def fits_in(there: There, answer: BondAnswer | None) -> Mapping[str, FitsIn]:
    """Give by panel whether it fits, for those that are still to be closed."""
    if answer is None:
        return {}
    known, rooms = there.known, there.answers
    off, joints = rooms.teardown(known), rooms.joints(known)
    answers = plan.Answers(
        known.repair,
        None if isinstance(off, Unanswered) else off,
        None if isinstance(joints, Unanswered) else joints,
        None,
        answer,
        None,
    )
    now = there.when.here(there.desk.settings.clock())
    shop = there.desk.learnt.paces(known)
    return {one.panel: _fits_in(there, one) for one in closings(answers, shop, now)}


def _fits_in(there: There, one: Closing) -> FitsIn:
    sign, word = VERDICTS[one.fits]
    hard = [problem.what for problem in one.problems if problem.hard]
    stop = f"{hard[0][:1].upper()}{hard[0][1:]}." if hard else ""
    if not stop and one.fits is Fits.NO:
        stop = headline(one, there.units).removeprefix("Do not start like this: ")
        stop = f"{stop[:1].upper()}{stop[1:]}"
    return FitsIn(
        sign,
        word,
        tuple(WayLine(*VERDICTS[way.fits], way_words(way, there.units)) for way in one.ways),
        tuple(_pairs(there, one)),
        tuple(f"{p.what[:1].upper()}{p.what[1:]}." for p in one.problems),
        tuple(_counted(there, one)),
        one.sources,
        stop,
    )


def _pairs(there: There, one: Closing) -> Iterator[tuple[str, str, str]]:
    """Give the figures of a closing: those that decide first."""
    likely, late = (show_minutes(math.ceil(m)) for m in (one.need.likely_min, one.need.late_min))
    yield "Needed by one person", likely, f"at most {late} in 9 of 10 cases"
    if one.work_min is None or one.celsius is None:
        yield "Can be worked", "not known", "enter the adhesive’s data sheet"
        return
    at = show_temperature(one.celsius, there.units)
    yield "Can be worked", show_minutes(math.floor(one.work_min)), f"at {at}, early bound"
    margin = one.margin_min or 0.0
    if margin >= 0.0:
        yield "To spare", show_minutes(math.floor(margin)), ""
    else:
        yield _missing(one, -margin)
    if one.start is not None:
        end = "the shift ends" if one.start.last else "the break begins"
        before = there.when.clock(one.start.before)
        by = "" if one.fits is not Fits.NO else "; in the first of these ways"
        yield "First bead at the latest", there.when.stamp(one.start.at), f"{end} at {before}{by}"
    if one.pause is not None:
        yield _pause(one.pause)


def _missing(one: Closing, late_min: float) -> tuple[str, str, str]:
    likely_min = one.need.likely_min - (one.work_min or 0.0)
    late = show_minutes(math.ceil(late_min))
    if likely_min <= 0.0:
        return "Missing", late, "in 1 of 10 cases"
    return "Missing", show_minutes(math.ceil(likely_min)), f"{late} in 1 of 10 cases"


def _pause(pause: Pause) -> tuple[str, str, str]:
    what, whole = "Pause with the same nozzle", show_minutes(math.floor(pause.all_min))
    if pause.all_min < 1.0:
        return what, "none", "nothing is to spare"
    if pause.nozzle_min < 1.0:
        return what, "none", f"change it at every stop; {whole} in all at most"
    then = f"then change it; {whole} in all at most"
    return what, show_minutes(math.floor(pause.nozzle_min)), then


def _counted(there: There, one: Closing) -> Iterator[str]:
    yield from counted_words(one, there.units)
    yield from pace_words(one, there.units)
    if one.pause is not None:
        yield pause_words(one.pause, there.units)


@dataclass(frozen=True)
class MayLine:
    """One thing that somebody wants to do now."""

    id: str
    words: str
    sign: Sign
    word: str
    why: str
    caution: str
    at: datetime | None
    """When the verdict turns, while the page is open."""


@dataclass(frozen=True)
class MayNow:
    """The list of them, and on whose word it stands."""

    lines: tuple[MayLine, ...]
    sources: tuple[Source, ...]


def may_now(
    there: There, answer: BondAnswer | Unanswered, joints: Iterable[str] | None = None
) -> MayNow | None:
    """Give what may be done now to these joints, or to all on which adhesive is."""
    if isinstance(answer, Unanswered):
        return None
    wanted = begun(answer)
    if joints is not None:
        wanted = tuple(joint for joint in joints if joint in wanted)
    now = there.desk.settings.clock()
    found = may_do(there.known.repair, answer, wanted, now)
    if not found:
        return None
    names = {joint.id: joint.label for joint in there.known.repair.joints}
    several = len(wanted) > 1
    lines = tuple(_line(there, one, names, several=several) for one in found)
    return MayNow(lines, tuple(dict.fromkeys(one.source for one in found if one.source)))


OVEN = "enter it on the page Vehicle, shop"


def all_allowed(found: MayNow) -> bool:
    """Tell whether nothing is left to be waited for."""
    return all(line.sign is Sign.GOOD for line in found.lines)


def _line(there: There, one: MayDo, names: Mapping[str, str], *, several: bool) -> MayLine:
    word = {May.ASK: "ask first"}.get(one.may, one.may.value)
    if one.may is May.LATER:
        after = show_minutes(math.ceil(one.after_min or 0.0))
        said = there.when.stamp(one.at) if one.at is not None else f"{after} after the panel is on"
        word = f"not before {said}"
    needs = f"needs {one.state}" if one.state else ""
    decides = f"{names.get(one.joint, one.joint)} is last" if several else ""
    enter = OVEN if one.may is May.ASK and there.known.repair.shop.bake is None else ""
    enter = enter if one.id == "bake" else ""
    why = "; ".join(part for part in (needs, decides, one.why, enter) if part)
    return MayLine(
        one.id,
        f"{one.words[:1].upper()}{one.words[1:]}",
        MAYS[one.may],
        word,
        f"{why[:1].upper()}{why[1:]}." if why else "",
        one.caution,
        one.at if one.may is May.LATER else None,
    )


MIND: Mapping[str, tuple[str, ...]] = {
    "prepared": ("solvents", "aluminium-dust"),
    "bead-begun": ("adhesive",),
    "closed": ("adhesive", "lifting"),
    "rivets-set": ("eyes", "adhesive"),
    "released": ("clamped",),
}
"""What may hurt somebody in the step that a moment ends, by the names of the step library."""


def mind(kind: str) -> tuple[str, ...]:
    """Give the cautions of the step that comes next."""
    return tuple(cautions()[name].words for name in MIND.get(kind, ()))


def still_to_come(there: There, answer: BondAnswer | Unanswered) -> tuple[Problem, ...]:
    """Give the moments that are still to come by the server's clock."""
    if isinstance(answer, Unanswered):
        return ()
    zone, now = zone_of(answer.zone), there.desk.settings.clock()
    return tuple(
        problem
        for bond in answer.joints
        for problem in future_problems(bond.joint, bond.clock, now, zone)
    )
