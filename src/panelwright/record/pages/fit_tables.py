"""Verdicts on points and on gaps as tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.fit.origins import sources_in
from panelwright.fit.part_answer import Verdict
from panelwright.quantities import Units, in_units
from panelwright.record.blocks import (
    Align,
    Column,
    Paragraph,
    Row,
    RunIn,
    Said,
    Size,
    Table,
    Tone,
)
from panelwright.record.figures import percent, signed

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Station
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import HomedPoint, PartFit, StationFit
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job

TONES = {
    Verdict.INSIDE: Tone.OK,
    Verdict.OUTSIDE: Tone.NOT_OK,
    Verdict.UNDECIDED: Tone.OPEN,
}


def _off(units: Units, off_mm: float | None, u_mm: float | None) -> Said:
    """A deviation, its standard uncertainty under it."""
    return Said(signed(units, off_mm, u_mm).replace(" ±", "\n±"))


def _judged(verdict: Verdict, p_inside: float | None) -> Said:
    return Said(f"{verdict.value}\n{percent(p_inside)}", tone=TONES[verdict], strong=True)


def _point(job: Job, point: HomedPoint) -> Row:
    offs = tuple(_off(job.units, off, u) for off, u in zip(point.off_mm, point.u_mm, strict=True))
    tone = Tone.OPEN if point.shape_finding else Tone.PLAIN
    shape = signed(job.units, math.hypot(*point.shape_mm)).lstrip("+")
    judged = _judged(point.verdict, point.p_inside)
    return Row((Said(point.id, strong=True), *offs, Said(shape, tone=tone), judged))


def point_table(job: Job, part: PartFit) -> tuple[Block, ...]:
    """Verdicts on the part's points."""
    if not part.points:
        return ()
    columns = (
        Column("point"),
        *(Column(f"{axis}, {job.units.value}", 1.0, Align.RIGHT) for axis in "xyz"),
        Column("shape", 0.0, Align.RIGHT),
        Column("verdict"),
    )
    return (Table(columns, tuple(_point(job, point) for point in part.points)),)


def _wanted(job: Job, station: Station) -> str:
    wants = []
    for name, check in (("gap", station.gap), ("flush", station.flush)):
        if check is not None:
            within = (
                f" ± {signed(job.units, check.tolerance.mm).lstrip('+')}" if check.tolerance else ""
            )
            wants.append(f"{name} {signed(job.units, check.want.mm).lstrip('+')}{within}")
    return ", ".join(wants)


def _station(job: Job, station: StationFit) -> Row:
    declared = {s.id: s for s in job.repair.stations}.get(station.id)
    name = declared.name or station.id if declared else station.id
    wanted = _wanted(job, declared) if declared else ""
    gap = signed(job.units, station.gap_mm, station.u_mm[0]).lstrip("+")
    return Row(
        (
            Said(f"{name}\n{wanted}" if wanted else name),
            Said(gap.replace(" ±", "\n±")),
            _off(job.units, station.flush_mm, station.u_mm[1]),
            _judged(station.verdict, station.p_inside),
        )
    )


def station_table(job: Job, part: PartFit) -> tuple[Block, ...]:
    """Verdicts on gap and flush."""
    if not part.stations:
        return ()
    columns = (
        Column(f"check, and what is wanted, {job.units.value}", 1.0),
        Column("gap", 0.0, Align.RIGHT),
        Column("flush", 0.0, Align.RIGHT),
        Column("verdict"),
    )
    return (Table(columns, tuple(_station(job, station) for station in part.stations)),)


def _point_note(job: Job, fit: FitAnswer, point: HomedPoint) -> str:
    notes = [in_units(point.note, job.units)]
    if point.shape_finding:
        notes.append("check panel or twin here")
    if point.p_best is not None and point.p_best < fit.confidence:
        best = percent(point.p_best)
        notes.append(f"cannot be proved by these readings, at best {best} if it were exactly home")
    said = "; ".join(note for note in notes if note)
    return f"{point.id}: {said}" if said else ""


def fit_notes(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    """How to read the tables, and what is to be said of single points and checks."""
    notes = [_point_note(job, fit, point) for point in part.points]
    checks = ((one.id, in_units(one.note, job.units)) for one in part.stations)
    notes += [f"{name}: {note}" for name, note in checks if note]
    lines = tuple(Said(note) for note in notes if note)
    found: list[Block] = [RunIn(lines, Said("Notes:", strong=True), Size.SMALL)] if lines else []
    if part.points or part.stations:
        words = (
            "x, y, z: off the target position, ± standard uncertainty; x to the rear, y to the "
            "right, z up. Shape: what the readings say of the point beyond the part's place. "
            "Under the verdict: probability of lying within tolerance; a verdict needs "
            f"{100 * fit.confidence:.0f} %."
        )
        found.append(Paragraph(Said(words, sources_in(fit.sources, job.units)), Size.SMALL))
    return tuple(found)
