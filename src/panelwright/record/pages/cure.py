"""Cure: when to work, when it holds, the curve, the lamp; and the plan as a bar chart."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from panelwright.bond.lamp_words import WARM_MOVES
from panelwright.bond.limits import check_words
from panelwright.plan.chart import CAPTION
from panelwright.quantities import show_length, show_minutes, show_temperature
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Align,
    Box,
    BoxKind,
    Bullets,
    Column,
    Figure,
    Heading,
    Pairs,
    Paragraph,
    Row,
    RunIn,
    Said,
    Section,
    Size,
    Table,
    Together,
    Tone,
)
from panelwright.record.drawings import cure_chart, plan_chart
from panelwright.record.heat_map import WIDE_MM, drawn_all
from panelwright.record.job import inside, is_wait, missing, runs
from panelwright.record.pages.closing import closing_blocks, may_blocks
from panelwright.record.pages.cover import open_behind
from panelwright.sources import merge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.bond.answer import Band, BondAnswer, Fit, JointBond, Moments, Stay
    from panelwright.plan.answer import PlanAnswer
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job


def _band(job: Job, band: Band | None, moments: Moments | None) -> Said:
    """Late end first, since it is the safe one; the clock time where the joint is closed."""
    if band is None:
        return Said("not known", tone=Tone.OPEN)
    late = show_minutes(math.ceil(band.late))  # to the safe side
    likely, early = show_minutes(band.likely), show_minutes(band.early)
    words = f"{late} (likely {likely}, early {early})"
    if moments is not None:
        words = f"{job.when.stamp(moments.late)}: {words}"
    return Said(words, strong=True)


def _work(job: Job, bond: JointBond) -> Said:
    if bond.work_until_min is None:
        return Said("not known", tone=Tone.OPEN)
    minutes = show_minutes(math.floor(bond.work_until_min))  # to the safe side
    until = bond.clock.work_until
    return Said(minutes if until is None else f"{job.when.stamp(until)}: {minutes}", strong=True)


def _hottest(job: Job, bond: JointBond) -> Said:
    if bond.hottest_C is None:
        return Said("–")
    words = show_temperature(bond.hottest_C, job.units)
    if bond.limit_C is None or bond.over_limit is None:
        return Said(words)
    words += f", limit {show_temperature(bond.limit_C, job.units)}"
    return Said(words, tone=Tone.NOT_OK if bond.over_limit else Tone.OK)


def _clock_cells(job: Job, bond: JointBond) -> tuple[Said, ...]:
    coldest = "–" if bond.coldest_mm is None else show_length(bond.coldest_mm, job.units)
    return (
        _work(job, bond),
        _band(job, bond.handle_min, bond.clock.handle),
        _band(job, bond.full_min, bond.clock.full),
        Said(coldest),
        _hottest(job, bond),
    )


MANY_JOINTS = 4
"""From so many on, the joints of the largest row are not named one by one."""


def _clock_rows(job: Job, bond: BondAnswer) -> tuple[Row, ...]:
    """Joints with the same clocks share a row."""
    groups: dict[tuple[Said, ...], list[JointBond]] = {}
    for joint in bond.joints:
        groups.setdefault(_clock_cells(job, joint), []).append(joint)
    rows: list[Row] = []
    for cells, joints in sorted(groups.items(), key=lambda item: len(item[1])):
        names = ", ".join(job.joint(joint.joint) for joint in joints)
        if len(joints) >= MANY_JOINTS and len(rows) + 1 == len(groups):
            names = f"every {'other ' if rows else ''}joint ({len(joints)})"
        sources = merge(*(joint.sources for joint in joints))
        rows.append(Row((Said(names, sources, strong=True), *cells)))
    return tuple(rows)


CLOCK_COLUMNS = (
    Column("joint", 1.5),
    Column("work, from\nbead start"),
    Column("handle, from closing:\nlate end first", 1.7),
    Column("full cure,\nfrom closing", 1.7),
    Column("cures\nlast at", 0.0, Align.RIGHT),
    Column("hottest"),
)


def _stay(job: Job, bond: JointBond, stay: Stay) -> Said:
    heating = next(
        (h for h in job.repair.heatings if h.joint == bond.joint and h.lamp == stay.lamp), None
    )
    distance = "" if heating is None else f" at {show_length(heating.distance.mm, job.units)}"
    switched = "as switched" if stay.recorded else "as planned"
    return Said(
        f"{stay.lamp}{distance} before {job.joint(bond.joint)}, {show_minutes(stay.from_min)} to "
        f"{show_minutes(stay.to_min)} after closing, {switched}"
    )


HOT = "▲ hot: away from battery, seals and trim; never left alone; read the temperature"


def _stays(job: Job, bond: BondAnswer) -> Block:
    stays = tuple(_stay(job, joint, stay) for joint in bond.joints for stay in joint.stays)
    said = (*stays, Said(HOT)) if stays else (Said("none is planned"),)
    return RunIn(said, Said("Lamp:", strong=True))


MOST_CHARTS = 2


def _drawn(bond: BondAnswer) -> list[JointBond]:
    """Joints that a lamp heats; where there is none, the slowest one."""
    curves = [joint for joint in bond.joints if joint.curve]
    heated = [joint for joint in curves if joint.stays]
    if heated:
        return heated[:MOST_CHARTS]
    return sorted(curves, key=lambda j: j.handle_min.late if j.handle_min else 0.0)[-1:]


def _charts(job: Job, bond: BondAnswer) -> Iterator[Block]:
    for joint in _drawn(bond):
        alike = [other for other in bond.joints if other.curve == joint.curve]
        name = ", ".join(job.joint(other.joint) for other in alike)
        alt = f"cure of {name}: temperature, and strength"
        yield Together((Heading(f"Cure of {name}"), Figure(cure_chart(joint), Said(""), alt=alt)))


MOST_MAPS = 4


def _maps(job: Job, bond: BondAnswer) -> Iterator[Block]:
    """The panel before and after each move of its lamp, two maps side by side."""
    mapped = [joint for joint in bond.joints if joint.maps][:MOST_CHARTS]
    for joint in mapped:
        name = job.joint(joint.joint)
        groups = tuple(
            (Figure(svg, Said(words), width_mm=WIDE_MM, alt=f"map of {name}: {words}"),)
            for svg, words in drawn_all(joint.maps, job.units)[:MOST_MAPS]
        )
        yield Heading(f"{name} under the lamp, likely")
        yield Pairs(groups)
    if mapped:
        yield Paragraph(Said(f"▲ {WARM_MOVES}", strong=True))


def _surface(bond: BondAnswer) -> Block:
    surface = bond.surface
    tones: dict[Fit, Tone] = {}
    for fit in type(surface.bond):
        tones[fit] = {"yes": Tone.OK, "no": Tone.NOT_OK}.get(fit.value, Tone.OPEN)
    said = Said(surface.words, surface.sources, tone=tones[surface.bond])
    return RunIn((said,), Said("Before bonding:", strong=True))


def _limits(job: Job, bond: BondAnswer) -> tuple[Block, ...]:
    """Each limit of surface and air with its verdict; the same of several joints once."""
    found: dict[str, list[str]] = {check_words(one): [] for one in bond.surface.limits}
    for joint in bond.joints:
        for one in joint.limits:
            found.setdefault(check_words(one), []).append(job.joint(joint.joint))
    lines = tuple(
        Said(f"{', '.join(joints)}: {words}" if joints else words)
        for words, joints in found.items()
    )
    return (Heading("Surface and air"), Bullets(lines, 2)) if lines else ()


_CLOCK = re.compile(
    r"Joints? .*: (close, rivet and tool within|leave clamped and unloaded until|full strength by) "
)
"""Advice that the table of clocks gives already."""


def _advice(job: Job, bond: BondAnswer) -> tuple[Block, ...]:
    told = (line for line in bond.advice if line != bond.surface.words and not _CLOCK.match(line))
    lines = [Said(line) for line in told]
    notes: dict[str, list[str]] = {}
    for joint in bond.joints:
        for note in joint.notes:
            notes.setdefault(note, []).append(job.joint(joint.joint))
    for note, joints in notes.items():
        every = len(joints) == len(bond.joints)
        lines.append(Said(note if every else f"{', '.join(joints)}: {note}"))
    unique = tuple(dict.fromkeys(lines))
    return (Heading("What to mind"), Bullets(unique, 2)) if unique else ()


def cure_section(job: Job) -> Section:
    """When it holds."""
    bond = job.answers.bond
    if isinstance(bond, Unanswered):
        return Section("Cure", (missing("When the bond holds", bond),))
    rows = _clock_rows(job, bond)
    table: tuple[Block, ...] = (
        (Table(CLOCK_COLUMNS, rows),) if rows else (Paragraph(Said("No joint is bonded.")),)
    )
    problems = tuple(Said(f"{p.where}: {p.what}") for p in bond.problems)
    lead_open = Said("Missing for the cure:", tone=Tone.OPEN, strong=True)
    open_box = (RunIn(problems, lead_open),) if problems else ()
    lines = (_stays(job, bond), _surface(bond))
    blocks = (
        *table,
        *lines,
        *_limits(job, bond),
        *closing_blocks(job, bond),
        *may_blocks(job, bond),
        *_charts(job, bond),
        *_maps(job, bond),
        *_advice(job, bond),
        *open_box,
    )
    lead = "Work time shows its early end, handling its late end: the safe ones."
    return Section("Cure", blocks, lead=lead)


def _critical(job: Job, plan: PlanAnswer) -> str:
    """The steps and waits that set the ready-for-paint time."""
    numbers = [job.numbers[step] for step in plan.critical if step in job.numbers]
    waits = [s.short or s.name for s in job.steps if s.id in plan.critical and is_wait(s)]
    said = [f"steps {runs(numbers)}"] if numbers else []
    said += [inside(word) for word in dict.fromkeys(waits)]
    return "; ".join(said)


def _also_open(job: Job) -> tuple[Block, ...]:
    """What is open and stands not in full on the cover."""
    behind = open_behind(job)
    return (RunIn(behind, Said("Also open:", tone=Tone.OPEN, strong=True)),) if behind else ()


def plan_section(job: Job) -> Section:
    """The plan as bars over the shop's hours."""
    plan = job.answers.plan
    if isinstance(plan, Unanswered):
        return Section("Plan", (missing("The plan", plan), *_also_open(job)))
    blocks: list[Block] = []
    if plan.why:
        blocks.append(
            Box(BoxKind.MISSING, "The plan cannot be kept", tuple(Said(why) for why in plan.why))
        )
    drawn = plan_chart(plan)
    if drawn is not None:
        blocks.append(Figure(drawn, Said(""), alt="the plan as bars"))
    gap = "" if not plan.gap else f", at most {100 * plan.gap:.0f} % longer than the shortest"
    said = [Said(f"{CAPTION} The work decides.", plan.sources)] if drawn is not None else []
    said.append(Said(f"schedule: {plan.status.value}{gap}"))
    critical = _critical(job, plan)
    if critical:
        said.append(Said(f"what sets the ready-for-paint time: {critical}"))
    blocks.append(RunIn(tuple(said), size=Size.SMALL))
    return Section("Plan", (*blocks, *_also_open(job)))
