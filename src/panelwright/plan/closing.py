"""Does closing a panel fit in the work time: against its early bound, with what helps."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from panelwright.bond.surface import humidity_at_panel
from panelwright.facts.problem import Problem
from panelwright.plan.clocks import bond_of
from panelwright.plan.closing_answer import (
    Closing,
    Fits,
    Help,
    LatestStart,
    Need,
    Pause,
    Way,
)
from panelwright.plan.course import Course
from panelwright.plan.library import settings, settings_source
from panelwright.plan.need import Split, Work, fits, need_of, two_mixes, work_of
from panelwright.plan.pace import common
from panelwright.plan.windows import hours_of, whole_minute
from panelwright.quantities import Units, show_minutes, show_temperature
from panelwright.sources import merge
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from panelwright.bond.answer import JointBond, Surface
    from panelwright.plan.gather import Answers
    from panelwright.plan.pace import Paces

DAYS_AHEAD = 8


def closings(
    answers: Answers, paces: Paces | None = None, now: datetime | None = None
) -> tuple[Closing, ...]:
    """For each panel that is bonded and not closed yet: does it fit in the work time.

    Parameters
    ----------
    answers : Answers
        What the rooms say; fit and quiet are not needed.
    paces : Paces or None
        The shop's own; None: common practice.
    now : datetime or None
        For the latest start and the cartridge's date; None leaves both out.
    """
    course = Course(answers)
    return tuple(
        _closing(course, part, paces or common(), now)
        for part in course.panels
        if course.bonded_of(part) and not _closed(course, part)
    )


def _bonds(course: Course, part: str) -> tuple[JointBond, ...]:
    found = (bond_of(course, joint) for joint in course.bonded_of(part))
    return tuple(bond for bond in found if bond is not None)


def _closed(course: Course, part: str) -> bool:
    bonds = _bonds(course, part)
    return bool(bonds) and any(bond.clock.closed is not None for bond in bonds)


def _closing(course: Course, part: str, paces: Paces, now: datetime | None) -> Closing:
    work, bonds = work_of(course, part, paces), _bonds(course, part)
    timed = [bond for bond in bonds if bond.work_until_min is not None]
    tightest = min(timed, key=lambda bond: bond.work_until_min or 0.0, default=None)
    need = need_of(work)
    work_min = tightest.work_until_min if tightest is not None else None
    verdict = Fits.UNKNOWN if work_min is None else fits(need, work_min)
    begun = any(bond.clock.bead_begun is not None for bond in bonds)
    found = Closing(
        panel=part,
        label=course.part(part).label,
        joints=tuple(joint.id for joint in course.bonded_of(part)),
        bead_mm=1000.0 * work.metres,
        rivets=work.rivets,
        people=1,
        need=need,
        work_min=work_min,
        celsius=tightest.work_C if tightest is not None else None,
        fits=verdict,
        rivet_pace=paces.rivet,
        bead_pace=paces.metre,
        begun=begun,
        pieces=_pieces(work),
        problems=tuple(_problems(course, part, len(bonds) - len(timed), now)),
        sources=merge(
            *(bond.sources for bond in timed[:1]),
            (paces.rivet.source, paces.metre.source, settings_source()),
            (load("nozzle").source,) if timed else (),
        ),
    )
    if tightest is None or work_min is None:
        return found
    ways: tuple[Way, ...] = ()
    if verdict is not Fits.YES:
        ways = tuple(_ways(course, found, work, tuple(timed)))
    able = [way.need for way in ways if way.fits is Fits.YES]
    able += [need] if verdict in (Fits.YES, Fits.TIGHT) else []
    start = None
    if now is not None and able and not begun:
        start = _latest_start(course, able[0], now)
    return replace(found, ways=ways, pause=_pause(found, tightest), start=start)


def _pieces(work: Work) -> tuple[float, float, float]:
    bead = work.bead_min + sum(share.bead_min for share in work.shares)
    rivet = work.rivet_min + sum(share.rivet_min for share in work.shares)
    return bead, work.close_min, rivet


def _problems(course: Course, part: str, untimed: int, now: datetime | None) -> Iterator[Problem]:
    where = f"part {part}"
    if untimed:
        count = f"{untimed} of its joints" if untimed > 1 else "one of its joints"
        what = f"no work time is known for {count}: enter the adhesive's data sheet, or ask"
        yield Problem(where, what, hard=False)
    missing = [j.label for j in course.bonded_of(part) if j.length is None]
    if missing:
        what = f"length not given: {', '.join(missing)}; its bead is not counted"
        yield Problem(where, what, hard=False)
    if now is None:
        return
    today = now.date()
    glues = {a.id: a for j in course.bonded_of(part) if (a := course.repair.adhesive_of(j))}
    for glue in glues.values():
        if glue.use_by is not None and glue.use_by < today:
            batch = f", batch {glue.batch}," if glue.batch else ""
            what = (
                f"cartridge {glue.name or glue.id}{batch} is past its date "
                f"({glue.use_by.isoformat()}): do not start with it, take a fresh one"
            )
            yield Problem(where, what)


def _ways(
    course: Course, found: Closing, work: Work, bonds: tuple[JointBond, ...]
) -> Iterator[Way]:
    """What helps, each by itself; hands and mixes together only where none is enough."""
    work_min = found.work_min or 0.0
    told = [
        _hands(course, work, work_min),
        _mixes(course, work, work_min),
        _cool(course, found, bonds),
    ]
    some = [way for way in told if way is not None]
    if not any(way.fits is Fits.YES for way in some):
        both = _both(course, work, work_min)
        some += [both] if both is not None else []
    yield from sorted(
        some, key=lambda way: (way.fits is not Fits.YES, len(way.notes), -way.margin_min)
    )


def _people(course: Course, people: int) -> str:
    have = course.repair.shop.technicians
    return "" if have >= people else f" (the shop has {have})"


def _room(margin_min: float) -> str:
    left = show_minutes(math.floor(abs(margin_min)))
    return f"{left} to spare" if margin_min >= 0.0 else f"{left} short in 1 of 10 cases"


def _hands(course: Course, work: Work, work_min: float) -> Way:
    """The fewest people with whom it fits; else with the most that find room."""
    most = int(settings()["most_hands"])
    people = next(
        (n for n in range(2, most + 1) if fits(need_of(work, n), work_min) is Fits.YES), most
    )
    return _way(
        Help.HANDS,
        work_min,
        need_of(work, people),
        people=people,
        words=(
            f"{people} people at beads and rivets{_people(course, people)}, each with gun and "
            "setting tool"
        ),
    )


def _way(  # noqa: PLR0913 - what a way is made of, all by name
    help_: Help,
    work_min: float,
    need: Need,
    *,
    words: str,
    people: int = 1,
    split: Split | None = None,
    celsius: float | None = None,
    notes: tuple[str, ...] = (),
) -> Way:
    verdict = fits(need, work_min)
    room = _room(work_min - need.late_min)
    likely, late = (show_minutes(math.ceil(m)) for m in (need.likely_min, need.late_min))
    told = f"{words}: {likely}, at most {late} in 9 of 10 cases, {room}."
    if verdict is Fits.NO:
        told = f"{words}: {likely}, still too long."
    first, second = (split.first, split.second) if split is not None else ((), ())
    return Way(help_, told, need, work_min, verdict, people, first, second, celsius, notes)


PROCEDURE = "Only if the procedure allows it."


def _said(course: Course, split: Split) -> str:
    names = {joint.id: joint.label for joint in course.repair.joints}
    first, second = (", ".join(names[j] for j in some) for some in (split.first, split.second))
    return (
        f"first {first}, then with a new nozzle {second}; close once, set the rivets in the same "
        "order; each mix has its own clock, the longer one takes"
    )


def _mixes(course: Course, work: Work, work_min: float) -> Way | None:
    split = two_mixes(work)
    if split is None:
        return None
    words = f"Two mixes: {_said(course, split)}"
    notes = (PROCEDURE,)
    return _way(Help.MIXES, work_min, split.need, words=words, split=split, notes=notes)


def _both(course: Course, work: Work, work_min: float) -> Way | None:
    for people in range(2, int(settings()["most_hands"]) + 1):
        split = two_mixes(work, people)
        if split is None:
            return None
        if fits(split.need, work_min) is Fits.YES or people == int(settings()["most_hands"]):
            words = (
                f"{people} people{_people(course, people)} and two mixes: {_said(course, split)}"
            )
            return _way(
                Help.BOTH,
                work_min,
                split.need,
                words=words,
                people=people,
                split=split,
                notes=(PROCEDURE,),
            )
    return None


def _cool(course: Course, found: Closing, bonds: tuple[JointBond, ...]) -> Way | None:
    """The warmest bay and panel at which every joint's work time is long enough."""
    now_C = found.celsius
    if now_C is None:
        return None
    at = [at.celsius for at in bonds[0].work_at if at.celsius < now_C]
    by_joint = [{at.celsius: at.early_min for at in bond.work_at} for bond in bonds]

    def shortest(celsius: float) -> float:
        return min(known.get(celsius, 0.0) for known in by_joint)

    enough = [celsius for celsius in at if fits(found.need, shortest(celsius)) is Fits.YES]
    if not enough:
        return None
    celsius = max(enough)
    words = f"Cool bay and panel to {show_temperature(celsius, Units.MM)} before the first bead"
    surface = course.answers.bond.surface if course.answers.bond is not None else None
    least_C = surface.panel_at_least_C if surface is not None else None
    if least_C is not None and celsius < least_C:
        least = show_temperature(math.ceil(least_C), Units.MM)
        wanted = show_temperature(celsius, Units.MM)
        told = (
            f"Cooling does not help in this air: it would take {wanted}, and the panel must stay "
            f"at {least} or more (dew point)."
        )
        return Way(Help.COOL, told, found.need, shortest(celsius), Fits.NO, celsius=celsius)
    notes = tuple(_against(surface, celsius))
    return _way(Help.COOL, shortest(celsius), found.need, words=words, celsius=celsius, notes=notes)


def _against(surface: Surface | None, celsius: float) -> Iterator[str]:
    """What stands against a cooler bay: dew, damp, a cure that hardly goes on."""
    rules = load("bonding_air")
    yield "It then sets more slowly: warm it again once the last rivet is set."
    if celsius < rules.number(0, "slow_below"):
        yield f"Below {rules.number(0, 'slow_below'):g} °C epoxy hardly cures [from memory]."
    if surface is None or surface.dew_point_C is None:
        yield "Read air and humidity first: the dew point may forbid it."
        return
    if surface.air_C is not None and surface.humidity_percent is not None:
        damp = humidity_at_panel(surface.air_C, surface.humidity_percent, celsius)
        if damp > rules.number(0, "humidity_high"):
            yield f"The air would then be at {damp:.0f} % humidity: dry it first."


def _pause(found: Closing, bond: JointBond) -> Pause | None:
    """What may be lost between two beads; the mix in a nozzle is older by the factor it ages."""
    work_min, gel_min = found.work_min, bond.nozzle_min
    if work_min is None or gel_min is None or found.celsius is None:
        return None
    left = max(0.0, work_min - found.need.late_min)
    return Pause(left * gel_min / work_min, left, gel_min, found.celsius)


def _latest_start(course: Course, need: Need, now: datetime) -> LatestStart | None:
    """Of the first stretch of working hours in which it still fits."""
    hours, _ = hours_of(course.repair.shop)
    if hours is None:
        return None
    minutes = math.ceil(need.late_min)
    now = whole_minute(now)
    windows = hours.windows(now, DAYS_AHEAD * 24 * 60)
    for number, (start, end) in enumerate(windows):
        if end - start < minutes:
            continue
        at, before = (now + timedelta(minutes=m) for m in (end - minutes, end))
        following = windows[number + 1] if number + 1 < len(windows) else None
        same_day = following is not None and (
            (now + timedelta(minutes=following[0])).astimezone(hours.zone).date()
            == before.astimezone(hours.zone).date()
        )
        return LatestStart(at, before, last=not same_day)
    return None
