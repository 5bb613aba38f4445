"""Verdicts on points and on gaps as tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.fit.answer import Verdict
from panelwright.record.blocks import Align, Column, Paragraph, Row, Said, Table, Tone
from panelwright.record.figures import percent, signed

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.answer import HomedPoint, PartFit, StationFit
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job

TONES = {
    Verdict.INSIDE: Tone.OK,
    Verdict.OUTSIDE: Tone.NOT_OK,
    Verdict.UNDECIDED: Tone.OPEN,
}


def _point(job: Job, fit: FitAnswer, point: HomedPoint) -> Row:
    offs = tuple(
        Said(signed(job.units, off, u)) for off, u in zip(point.off_mm, point.u_mm, strict=True)
    )
    shape = math.hypot(*point.shape_mm)
    note = point.note
    if point.shape_finding:
        note = f"{note}; check panel or twin here".lstrip("; ")
    if point.p_best is not None and point.p_best < fit.confidence:
        note = f"{note}; cannot be proved by these readings".lstrip("; ")
    return Row(
        (
            Said(point.id, strong=True),
            *offs,
            Said(
                signed(job.units, shape).lstrip("+"),
                tone=Tone.OPEN if point.shape_finding else Tone.PLAIN,
            ),
            Said(percent(point.p_inside)),
            Said(percent(point.p_best)),
            Said(point.verdict.value, tone=TONES[point.verdict], strong=True),
            Said(note),
        )
    )


def points(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    """Verdicts on the part's points, and how to read them."""
    if not part.points:
        return ()
    unit = job.units.value
    columns = (
        Column("point"),
        Column(f"off x, {unit}", 0.0, Align.RIGHT),
        Column(f"off y, {unit}", 0.0, Align.RIGHT),
        Column(f"off z, {unit}", 0.0, Align.RIGHT),
        Column(f"shape, {unit}", 0.0, Align.RIGHT),
        Column("inside", 0.0, Align.RIGHT),
        Column("at best", 0.0, Align.RIGHT),
        Column("verdict"),
        Column("", 1.0),
    )
    rows = tuple(_point(job, fit, point) for point in part.points)
    words = (
        "Off: from the target position, ± standard uncertainty; x to the rear, y to the right, "
        "z up. Inside: probability of lying within tolerance; at best: if it were exactly home. "
        f"A verdict needs {100 * fit.confidence:.0f} %."
    )
    return (Table(columns, rows), Paragraph(Said(words, fit.sources, tone=Tone.QUIET)))


def _station(job: Job, station: StationFit) -> Row:
    declared = {s.id: s for s in job.repair.stations}.get(station.id)
    wants = []
    for name, check in (
        ("gap", declared.gap if declared else None),
        ("flush", declared.flush if declared else None),
    ):
        if check is not None:
            within = (
                f" ± {signed(job.units, check.tolerance.mm).lstrip('+')}" if check.tolerance else ""
            )
            wants.append(f"{name} {signed(job.units, check.want.mm).lstrip('+')}{within}")
    return Row(
        (
            Said(declared.name or station.id if declared else station.id, strong=True),
            Said(", ".join(wants)),
            Said(signed(job.units, station.gap_mm, station.u_mm[0]).lstrip("+")),
            Said(signed(job.units, station.flush_mm, station.u_mm[1])),
            Said(percent(station.p_inside)),
            Said(station.verdict.value, tone=TONES[station.verdict], strong=True),
            Said(station.note),
        )
    )


def stations(job: Job, part: PartFit) -> tuple[Block, ...]:
    """Verdicts on gap and flush."""
    if not part.stations:
        return ()
    unit = job.units.value
    columns = (
        Column("gap-and-flush check", 1.2),
        Column(f"wanted, {unit}", 1.4),
        Column(f"gap, {unit}", 0.0, Align.RIGHT),
        Column(f"flush, {unit}", 0.0, Align.RIGHT),
        Column("inside", 0.0, Align.RIGHT),
        Column("verdict"),
        Column("", 0.8),
    )
    return (Table(columns, tuple(_station(job, station) for station in part.stations)),)
