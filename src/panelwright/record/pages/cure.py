"""Cure: when to work, when it holds, the curve, the lamp; and the plan as a bar chart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import show_length, show_minutes, show_temperature
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Align,
    Box,
    BoxKind,
    Column,
    Figure,
    Heading,
    Paragraph,
    Row,
    Said,
    Section,
    Table,
    Together,
    Tone,
)
from panelwright.record.drawings import cure_chart, plan_chart
from panelwright.record.job import missing, runs
from panelwright.sources import merge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.bond.answer import Band, BondAnswer, Fit, JointBond, Moments, Stay
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job


def _band(job: Job, band: Band | None, moments: Moments | None) -> Said:
    """Late end first, since it is the safe one; the clock time where the joint is closed."""
    if band is None:
        return Said("not known", tone=Tone.OPEN)
    late, likely, early = (show_minutes(m) for m in (band.late, band.likely, band.early))
    words = f"{late} (likely {likely}, early {early})"
    if moments is not None:
        words = f"{job.when.stamp(moments.late)}: {words}"
    return Said(words, strong=True)


def _work(job: Job, bond: JointBond) -> Said:
    if bond.work_until_min is None:
        return Said("not known", tone=Tone.OPEN)
    minutes, until = show_minutes(bond.work_until_min), bond.clock.work_until
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


def _clock_rows(job: Job, bond: BondAnswer) -> tuple[Row, ...]:
    """Joints with the same clocks share a row."""
    groups: dict[tuple[Said, ...], list[JointBond]] = {}
    for joint in bond.joints:
        groups.setdefault(_clock_cells(job, joint), []).append(joint)
    rows = []
    for cells, joints in groups.items():
        names = ", ".join(job.joint(joint.joint) for joint in joints)
        sources = merge(*(joint.sources for joint in joints))
        rows.append(Row((Said(names, sources, strong=True), *cells)))
    return tuple(rows)


CHART_MM = 150.0
"""Width of the cure chart on paper."""

CLOCK_COLUMNS = (
    Column("joint", 1.9),
    Column("work, from bead start", 1.1),
    Column("handle, from closing: late end first", 1.7),
    Column("full cure, from closing", 1.7),
    Column("cures last at", 0.0, Align.RIGHT),
    Column("hottest", 1.2),
)


def _stay(job: Job, bond: JointBond, stay: Stay) -> Row:
    heating = next(
        (h for h in job.repair.heatings if h.joint == bond.joint and h.lamp == stay.lamp), None
    )
    distance = "–" if heating is None else show_length(heating.distance.mm, job.units)
    return Row(
        (
            Said(job.joint(bond.joint), strong=True),
            Said(stay.lamp),
            Said(distance),
            Said(show_minutes(stay.from_min)),
            Said(show_minutes(stay.to_min)),
            Said("as switched" if stay.recorded else "as planned"),
        )
    )


def _stays(job: Job, bond: BondAnswer) -> tuple[Block, ...]:
    rows = tuple(_stay(job, joint, stay) for joint in bond.joints for stay in joint.stays)
    if not rows:
        return (Heading("Lamp"), Paragraph(Said("No lamp is planned.")))
    columns = (
        Column("joint", 1.4),
        Column("lamp", 1.0),
        Column("distance", 0.0, Align.RIGHT),
        Column("on after closing", 0.0, Align.RIGHT),
        Column("off", 0.0, Align.RIGHT),
        Column("", 1.0),
    )
    words = "▲ Hot lamp: away from battery, seals and trim; never left alone. Read the temperature."
    return (Heading("Lamp"), Table(columns, rows), Paragraph(Said(words)))


def _charts(job: Job, bond: BondAnswer) -> Iterator[Block]:
    """A curve for each joint that a lamp heats or whose clock runs; else for the slowest one."""
    drawn = [j for j in bond.joints if j.curve and (j.stays or j.clock.closed is not None)]
    if not drawn:
        drawn = sorted(
            (j for j in bond.joints if j.curve),
            key=lambda j: j.handle_min.late if j.handle_min else 0.0,
            reverse=True,
        )[:1]
    for joint in drawn[:3]:
        name = job.joint(joint.joint)
        yield Together(
            (
                Heading(f"Cure of {name}"),
                Figure(cure_chart(joint), Said(""), width_mm=CHART_MM, alt=f"cure of {name}"),
            )
        )


def _surface(job: Job, bond: BondAnswer) -> Iterator[Block]:
    surface = bond.surface
    tones: dict[Fit, Tone] = {}
    for fit in type(surface.bond):
        tones[fit] = {"yes": Tone.OK, "no": Tone.NOT_OK}.get(fit.value, Tone.OPEN)
    yield Heading("Air and panel before bonding")
    yield Paragraph(Said(surface.words, surface.sources, tone=tones[surface.bond]))
    _ = job


def _advice(bond: BondAnswer) -> tuple[Block, ...]:
    lines = [Said(line) for line in bond.advice]
    notes: dict[str, list[str]] = {}
    for joint in bond.joints:
        for note in joint.notes:
            notes.setdefault(note, []).append(joint.joint)
    for note, joints in notes.items():
        every = len(joints) == len(bond.joints)
        lines.append(Said(note if every else f"{', '.join(joints)}: {note}"))
    unique = tuple(dict.fromkeys(lines))
    return (Box(BoxKind.INFO, "What to mind", unique),) if unique else ()


def cure_section(job: Job) -> Section:
    """When it holds."""
    bond = job.answers.bond
    if isinstance(bond, Unanswered):
        return Section("Cure", (missing("When the bond holds", bond),), fresh=True)
    rows = _clock_rows(job, bond)
    table: tuple[Block, ...] = (
        (Table(CLOCK_COLUMNS, rows),) if rows else (Paragraph(Said("No joint is bonded.")),)
    )
    problems = tuple(Said(f"{p.where}: {p.what}", tone=Tone.OPEN) for p in bond.problems)
    open_box: tuple[Block, ...] = (
        (Box(BoxKind.MISSING, "Missing for the cure", problems),) if problems else ()
    )
    return Section(
        "Cure",
        (
            *table,
            *_charts(job, bond),
            *_stays(job, bond),
            *_surface(job, bond),
            *_advice(bond),
            *open_box,
        ),
        fresh=True,
        lead="Work time shows its early end, handling its late end: the safe ones.",
    )


PLAN_CAPTION = (
    "Work on the shop's hours; nights and breaks are squeezed. Black edge: sets the time. "
    "Diamond: hold point. Times are planned; the work decides."
)


def plan_section(job: Job) -> Section:
    """The plan as bars over the shop's hours."""
    plan = job.answers.plan
    if isinstance(plan, Unanswered):
        return Section("Plan", (missing("The plan", plan),))
    blocks: list[Block] = []
    if plan.why:
        blocks.append(
            Box(BoxKind.MISSING, "The plan cannot be kept", tuple(Said(why) for why in plan.why))
        )
    drawn = plan_chart(plan)
    if drawn is not None:
        blocks.append(Figure(drawn, Said(PLAN_CAPTION, plan.sources), alt="the plan as bars"))
    gap = "" if not plan.gap else f", at most {100 * plan.gap:.0f} % longer than the shortest"
    blocks.append(Paragraph(Said(f"Schedule: {plan.status.value}{gap}.", tone=Tone.QUIET)))
    numbers = {step.id: number for number, step in enumerate(job.steps, start=1)}
    critical = runs([numbers[step] for step in plan.critical if step in numbers])
    if critical:
        blocks.append(Paragraph(Said(f"What sets the ready-for-paint time: steps {critical}.")))
    return Section("Plan", tuple(blocks))
