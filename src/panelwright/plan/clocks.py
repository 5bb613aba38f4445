"""What the adhesive's clock asks of the plan: work time, waits, lamp time, prepared surfaces."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.plan.answer import Who
from panelwright.plan.library import Breaks, settings
from panelwright.plan.tasks import Between, Lag
from panelwright.sources import Basis, Mark, Source, merge

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from panelwright.bond.answer import JointBond
    from panelwright.facts.models.parts import Joint
    from panelwright.plan.course import Course
    from panelwright.plan.draft import Draft, DraftPlan

WORK = "work time"
"""Name that the limit from adhesive started to last rivet carries."""
PREPARED = "prepared surface"
"""Name that the limit from preparing to adhesive started carries."""


@dataclass(frozen=True)
class JointTimes:
    """Minutes that one bonded joint asks for, each at the end that protects."""

    work: float
    handle_likely: float
    handle_late: float
    full: float
    lamp_from: float
    lamp_stay: float
    sources: tuple[Source, ...]


def with_clocks(plan: DraftPlan, course: Course) -> DraftPlan:
    """The plan with lengths of cures and lamps, and the limits that a bead sets."""
    lags: list[Lag] = []
    problems: list[Problem] = []
    for part in course.panels:
        joints = course.bonded_of(part)
        times = {joint.id: joint_times(course, joint) for joint in joints}
        problems += [p for joint in joints for p in _unknown(course, joint)]
        if joints:
            lags += _bead_limits(course, part, _work(course, times))
        for joint in joints:
            plan = _cure(plan, joint, times[joint.id])
            lags += _cure_lags(plan, joint, part, times[joint.id])
    if course.repair.shop.lamps == 0 and plan.of("lamp"):
        words = "is 0, but a joint is heated: planned with one that must be got"
        problems.append(Problem("shop.lamps", words, hard=False))
    return replace(plan, lags=(*plan.lags, *lags), problems=(*plan.problems, *problems))


def _work(course: Course, times: Mapping[str, JointTimes]) -> float:
    """Work time of a panel, the shortest of its joints'; the maker's answer may shorten it."""
    asked = {joint.id for joint in course.asked if not _knows_work(course, joint)}
    known = [found.work for joint, found in times.items() if joint not in asked]
    return min(known or [found.work for found in times.values()])


def _knows_work(course: Course, joint: Joint) -> bool:
    found = bond_of(course, joint)
    return found is not None and found.work_until_min is not None


def bond_of(course: Course, joint: Joint) -> JointBond | None:
    """What the bond room says of a joint."""
    room = course.answers.bond
    if room is None:
        return None
    return next((found for found in room.joints if found.joint == joint.id), None)


def joint_times(course: Course, joint: Joint) -> JointTimes:
    """Times of one joint; what nobody gives is taken long, as common practice."""
    found = bond_of(course, joint)
    taken = settings()
    work = found.work_until_min if found else None
    handle = found.handle_min if found else None
    full = found.full_min if found else None
    late = handle.late if handle else taken["handle_unknown"]
    stays = [stay for h in course.repair.heatings if h.joint == joint.id for stay in h.stays]
    start = min((stay.from_.minutes for stay in stays), default=0.0)
    end = max((stay.to.minutes for stay in stays), default=0.0)
    return JointTimes(
        work=taken["work_unknown"] if work is None else work,
        handle_likely=handle.likely if handle else late,
        handle_late=late,
        full=max(late, full.late if full else taken["full_unknown"]),
        lamp_from=start,
        lamp_stay=max(0.0, end - start),
        sources=found.sources if found else (_TAKEN,),
    )


_TAKEN = Source(Basis.PRACTICE, "cure time taken because the adhesive's is not given", Mark.NONE)


def _unknown(course: Course, joint: Joint) -> Iterator[Problem]:
    """Say which times were taken because nobody gives them."""
    found = bond_of(course, joint)
    taken = settings()
    where = f"joint {joint.id}"
    hours = f"{taken['handle_unknown'] / 60:g} h (common practice, no source)"
    if joint in course.asked and (found is None or found.handle_min is None):
        words = f"its adhesive is for the maker to say; planned with {hours} to handling strength"
        yield Problem(where, words, hard=False)
        return
    if not _knows_work(course, joint):
        yield Problem(
            where,
            f"its adhesive's work time is not known; planned with {taken['work_unknown']:g} min "
            "(common practice, no source). Give [[adhesive.time]] event = work.",
            hard=False,
        )
    if found is None or found.handle_min is None:
        yield Problem(
            where,
            f"its handling time is not known; planned with {hours}. "
            "Give [[adhesive.time]] event = handle.",
            hard=False,
        )
    if found is not None and found.over_limit:
        yield Problem(
            where,
            f"with this lamp time its hottest place passes the adhesive's limit "
            f"({found.hottest_C or 0:.0f} °C, limit {found.limit_C or 0:.0f} °C): "
            "more distance or less time before it is done",
            hard=False,
        )


def _bead_limits(course: Course, part: str, work: float) -> tuple[Lag, ...]:
    """From the first prepared surface to bead, and from bead to last rivet without a pause."""
    label = course.part(part).label
    bead, close, rivet = f"bead-{part}", f"close-{part}", f"rivet-{part}"
    within = prepared_within(course, part)
    prepared = f"{PREPARED}: adhesive on {label} within {within} min, counted from the first one"
    at_once = f"{label} is closed and riveted without a pause once its adhesive is started"
    last = f"{WORK}: last rivet of {label} within {math.floor(work)} min of adhesive started"
    return (
        Lag(f"prepare-{part}", bead, Between.START_START, None, within, prepared),
        Lag(bead, close, most=0, name=at_once),
        Lag(close, rivet, most=0, name=at_once),
        Lag(bead, rivet, Between.START_END, None, math.floor(work), last),
    )


def check_work_time(plan: DraftPlan, course: Course) -> DraftPlan:
    """Take out each work time that its steps cannot keep, and say so in words."""
    lags, problems = [], []
    for lag in plan.lags:
        needed = _chain_minutes(plan, lag) if lag.name.startswith(WORK) else 0
        if lag.most is None or needed <= lag.most:
            lags.append(lag)
            continue
        part = plan.steps[lag.before].thing.key
        part = part if part in course.panels else plan.steps[lag.after].thing.key
        words = _too_slow(course, part, needed, lag.most)
        problems.append(Problem(f"part {part}", words, hard=False))
    return replace(plan, lags=tuple(lags), problems=(*plan.problems, *problems))


def check_prepared(plan: DraftPlan, course: Course) -> DraftPlan:
    """Where preparing alone takes longer than its limit: count from its end, and say so."""
    late = [
        lag
        for lag in plan.lags
        if lag.name.startswith(PREPARED)
        and lag.most is not None
        and plan.steps[lag.before].minutes > lag.most
    ]
    lags = tuple(
        replace(lag, between=Between.END_START) if lag in late else lag for lag in plan.lags
    )
    problems = [_too_old(plan.steps[lag.before], course, lag.most or 0) for lag in late]
    return replace(plan, lags=lags, problems=(*plan.problems, *problems))


def _too_old(step: Draft, course: Course, within: int) -> Problem:
    key = step.thing.key
    label = course.part(key).label if key in course.panels else step.name
    words = (
        f"preparing {label} takes {step.minutes} min, but a prepared surface may stand for "
        f"{within} min only: the first ones are too old when adhesive is started. Prepare and bond "
        "joint by joint if the procedure allows it, or put more hands on it"
    )
    return Problem(f"step {step.id}", words, hard=False)


def waits_at_once(plan: DraftPlan) -> DraftPlan:
    """A wait that runs day and night begins when the one step before it ends."""
    tied = {lag.after for lag in plan.lags if lag.most == 0}
    lags = tuple(
        Lag(step.after[0], step.id, most=0, name=f"{step.name}: from the end of the step before")
        for step in plan.steps.values()
        if step.who is Who.NOBODY
        and step.breaks is Breaks.ANYTIME
        and len(step.after) == 1
        and step.id not in tied
    )
    return replace(plan, lags=(*plan.lags, *lags))


def _chain_minutes(plan: DraftPlan, lag: Lag) -> int:
    """Working time from the first to the last step of a limit, which follow without a pause."""
    follow = {
        rule.before: rule.after
        for rule in plan.lags
        if rule.most == 0 and not plan.steps[rule.after].is_wait
    }
    step, total = lag.before, plan.steps[lag.before].minutes
    while step != lag.after and step in follow:
        step = follow[step]
        total += plan.steps[step].minutes
    return total


def _too_slow(course: Course, part: str, needed: int, work: int) -> str:
    label = course.part(part).label if part in course.panels else part
    mixes = math.ceil(needed / max(work, 1))
    split = (
        f"Split into {mixes} mixes for joints that close one after the other, "
        "if the procedure allows it"
        if part in course.panels and len(course.bonded_of(part)) > 1
        else "Ask the adhesive's maker for one that can be worked longer"
    )
    return (
        f"adhesive, closing and riveting of {label} take {needed} min, but the adhesive can be "
        f"worked for {work} min (early bound). Do not start like this. {split}, or put more hands "
        "on it, or work cooler."
    )


def prepared_within(course: Course, part: str) -> int:
    """Longest time from prepared surface to bead, minutes."""
    limits = [
        adhesive.prepared_within.minutes
        for joint in course.bonded_of(part)
        if (adhesive := course.repair.adhesive_of(joint)) is not None
        and adhesive.prepared_within is not None
    ]
    if not limits and course.answers.bond is not None:
        limits = [course.answers.bond.surface.prepared_hours * 60.0]
    return math.floor(min(limits, default=120.0))


def _cure(plan: DraftPlan, joint: Joint, times: JointTimes) -> DraftPlan:
    """Set the lengths of a joint's waits; with a lamp they run from when it is on."""
    steps = dict(plan.steps)
    warm = times.lamp_from if f"lamp-{joint.id}" in steps else 0.0
    start = "lamp on" if warm or f"lamp-{joint.id}" in steps else "panel on"
    for id_, length, words in (
        (f"cure-{joint.id}", times.handle_late - warm, "handling strength"),
        (f"full-cure-{joint.id}", times.full - warm, "full cure"),
    ):
        steps[id_] = replace(
            steps[id_],
            minutes=max(1, math.ceil(length)),
            why=f"late bound of {words}, counted from {start}",
            sources=merge(times.sources),
        )
    if f"lamp-{joint.id}" in steps:
        id_ = f"lamp-{joint.id}"
        steps[id_] = replace(
            steps[id_], minutes=math.ceil(times.lamp_stay), why="lamp time of the repair file"
        )
    return replace(plan, steps=steps)


def _cure_lags(plan: DraftPlan, joint: Joint, part: str, times: JointTimes) -> Iterator[Lag]:
    """When a joint's waits begin."""
    taken = settings()
    lamp, close = f"lamp-{joint.id}", f"close-{part}"
    waits = (f"cure-{joint.id}", f"full-cure-{joint.id}")
    if lamp not in plan.steps:
        for wait in waits:
            yield Lag(close, wait, most=0, name=f"{joint.label} sets from when the panel is on")
        return
    yield Lag(close, lamp, least=math.ceil(times.lamp_from))
    for wait in waits:
        yield Lag(lamp, wait, Between.START_START, 0, 0, f"{joint.label} sets under the lamp")
    first, last = int(taken["heat_check_after"]), int(taken["heat_check_until"])
    if times.lamp_stay > last:
        name = f"temperature of {joint.label} read {first} to {last} min after lamp on"
        yield Lag(lamp, f"heat-check-{joint.id}", Between.START_START, first, last, name)
    else:
        yield Lag(lamp, f"heat-check-{joint.id}", Between.START_START, 0)
    cool = int(taken["cool_down"])
    yield Lag(lamp, f"gap-check-{part}", least=cool, name=f"{joint.label} is cold again")
