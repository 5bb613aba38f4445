"""Readings, verdicts and moves, on a three-view drawing and in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.fit.answer import BodyStatus, Verdict
from panelwright.quantities import Units
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Align,
    Box,
    BoxKind,
    Bullets,
    Column,
    Figure,
    Heading,
    Paragraph,
    Row,
    Said,
    Section,
    Size,
    Table,
    Together,
    Tone,
)
from panelwright.record.displacement import covariance_at, homes
from panelwright.record.job import counted, missing
from panelwright.record.three_view import Kind, Push, Spot, draw

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.answer import HomedPoint, PartFit, ReadingRow, StationFit, Vector
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job

MM_PER_INCH = 25.4
TONES = {
    Verdict.INSIDE: Tone.OK,
    Verdict.OUTSIDE: Tone.NOT_OK,
    Verdict.UNDECIDED: Tone.OPEN,
}
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
REACH_MM, NEAR = 400.0, 0.5
"""How far ahead and behind the part points of the body are drawn: length, share of the part's."""
PAPER_WIDTH_MM = 176.0
PAPER_HEIGHT_MM = 138.0


def signed(job: Job, mm: float | None, u_mm: float | None = None) -> str:
    """A deviation with its sign and standard uncertainty, in the column's unit."""
    if mm is None:
        return "–"
    factor, places = (1.0, 1) if job.units is Units.MM else (1.0 / MM_PER_INCH, 2)
    value = round(mm * factor, places)
    words = f"{value:+.{places}f}" if value else f"{0.0:.{places}f}"
    words = words.replace("-", "−")
    return words if u_mm is None else f"{words} ± {u_mm * factor:.{places}f}"


def percent(p: float | None) -> str:
    """A probability in percent that never claims certainty."""
    if p is None:
        return "–"
    if p > 0.999:
        return "> 99.9 %"
    return "< 0.1 %" if p < 0.001 else f"{100 * p:.1f} %"


def _unit(job: Job) -> str:
    return job.units.value


def _tolerances(job: Job) -> Mapping[str, float | tuple[float | None, float | None, float | None]]:
    found: dict[str, float | tuple[float | None, float | None, float | None]] = {}
    for point in job.repair.points:
        if isinstance(point.tolerance, AxisTolerance):
            x, y, z = (
                None if t is None else t.mm
                for t in (point.tolerance.x, point.tolerance.y, point.tolerance.z)
            )
            found[point.id] = (x, y, z)
        elif point.tolerance is not None:
            found[point.id] = point.tolerance.mm
    return found


def _spots(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Spot, ...]:
    places = {p.id: p.xyz_mm for p in fit.points if p.xyz_mm is not None}
    home = homes(part, places)
    tolerances = _tolerances(job)
    own = tuple(
        Spot(
            point.id,
            home[point.id],
            Kind.PART,
            point.off_mm,
            covariance_at(part, home, point.id),
            tolerances.get(point.id),
            point.verdict.value,
        )
        for point in part.points
        if point.id in home
    )
    return own + _near(job, places, own)


def _near(job: Job, places: Mapping[str, Vector], own: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """Points of the body beside the part or across from it; far ones would shrink the drawing."""
    along = [spot.xyz_mm[0] for spot in own]
    if not along:
        return ()
    reach = max(REACH_MM, NEAR * (max(along) - min(along)))
    names = {spot.label for spot in own}
    return tuple(
        Spot(point.id, places[point.id])
        for point in job.repair.points
        if point.on == "body"
        and point.id in places
        and point.id not in names
        and min(along) - reach <= places[point.id][0] <= max(along) + reach
    )


def _drawing(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    spots = _spots(job, fit, part)
    if not any(spot.kind is Kind.PART for spot in spots):
        return ()
    pushes = tuple(
        Push(letter, move.xyz, move.along, move.by_mm)
        for letter, move in zip(LETTERS, part.moves, strict=False)
    )
    drawing = draw(spots, pushes, width_mm=PAPER_WIDTH_MM, height_mm=PAPER_HEIGHT_MM)
    alt = f"{job.part(part.id)}: side, rear and top view of its points"
    return (Figure(drawing.svg, Said(drawing.caption), drawing.width_mm, drawing.height_mm, alt),)


def _verdict(part: PartFit) -> tuple[Verdict, str]:
    every = [point.verdict for point in part.points] + [s.verdict for s in part.stations]
    counts = {verdict: every.count(verdict) for verdict in Verdict}
    words = ", ".join(f"{counts[v]} {v.value}" for v in Verdict if counts[v])
    if not every:
        return Verdict.UNDECIDED, "nothing to judge"
    if counts[Verdict.OUTSIDE]:
        return Verdict.OUTSIDE, words
    return (Verdict.UNDECIDED if counts[Verdict.UNDECIDED] else Verdict.INSIDE), words


SENTENCES = {
    Verdict.INSIDE: "The panel is where it belongs.",
    Verdict.OUTSIDE: "The panel is not where it belongs.",
    Verdict.UNDECIDED: "These readings do not prove yet that the panel is where it belongs.",
}


def _point(job: Job, fit: FitAnswer, point: HomedPoint) -> Row:
    offs = tuple(Said(signed(job, off, u)) for off, u in zip(point.off_mm, point.u_mm, strict=True))
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
                signed(job, shape).lstrip("+"),
                tone=Tone.OPEN if point.shape_finding else Tone.PLAIN,
            ),
            Said(percent(point.p_inside)),
            Said(percent(point.p_best)),
            Said(point.verdict.value, tone=TONES[point.verdict], strong=True),
            Said(note),
        )
    )


def _points(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    if not part.points:
        return ()
    unit = _unit(job)
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
            within = f" ± {signed(job, check.tolerance.mm).lstrip('+')}" if check.tolerance else ""
            wants.append(f"{name} {signed(job, check.want.mm).lstrip('+')}{within}")
    return Row(
        (
            Said(declared.name or station.id if declared else station.id, strong=True),
            Said(", ".join(wants)),
            Said(signed(job, station.gap_mm, station.u_mm[0]).lstrip("+")),
            Said(signed(job, station.flush_mm, station.u_mm[1])),
            Said(percent(station.p_inside)),
            Said(station.verdict.value, tone=TONES[station.verdict], strong=True),
            Said(station.note),
        )
    )


def _stations(job: Job, part: PartFit) -> tuple[Block, ...]:
    if not part.stations:
        return ()
    unit = _unit(job)
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


def _moves(part: PartFit) -> tuple[Block, ...]:
    if not part.moves:
        return ()
    lines = tuple(
        Said(f"{letter}: {move.words}", strong=True)
        for letter, move in zip(LETTERS, part.moves, strict=False)
    )
    return (Box(BoxKind.INFO, "Move, then read again", lines),)


def _unseen(part: PartFit) -> tuple[Block, ...]:
    lines = tuple(Said(unseen.words) for unseen in part.unseen)
    if not lines:
        return ()
    return (Box(BoxKind.MISSING, "Not checked by these readings", lines),)


def _part(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    verdict, counts = _verdict(part)
    setting = f"dry fit {part.setting}" if part.setting else "before removal"
    return (
        Together(
            (
                Heading(f"{job.part(part.id)}, {setting}"),
                Paragraph(
                    Said(f"{SENTENCES[verdict]} {counts}.", tone=TONES[verdict], strong=True),
                    size=Size.LEAD,
                ),
                *_moves(part),
                *_drawing(job, fit, part),
            )
        ),
        *_points(job, fit, part),
        *_stations(job, part),
        *_unseen(part),
    )


def reading_words(job: Job, index: int) -> str:
    """A reading of the file, as a person would name it."""
    if not 0 <= index < len(job.repair.readings):
        return f"reading {index + 1}"
    reading = job.repair.readings[index]
    named = {
        "station": "check",
        "contact": "contact",
        "locator": "locator",
        "point": "point",
    }
    for key, word in named.items():
        value = getattr(reading, key, None)
        if value is not None:
            return f"{word} {value}"
    compare = getattr(reading, "compare", None)
    if compare is not None:
        (a, b), (c, d) = compare
        return f"{a}–{b} against {c}–{d}"
    return f"{getattr(reading, 'from_', '?')}–{getattr(reading, 'to', '?')}"


def _suspect(job: Job, row: ReadingRow) -> Row:
    return Row(
        (
            Said(str(row.index + 1), strong=True),
            Said(reading_words(job, row.index)),
            Said(row.component),
            Said(signed(job, row.residual_mm)),
            Said("–" if row.w is None else f"{abs(row.w):.1f}"),
            Said("recheck", tone=Tone.NOT_OK, strong=True),
        )
    )


def _readings(job: Job, fit: FitAnswer) -> tuple[Block, ...]:
    suspects = [row for row in fit.readings if row.suspect]
    test = fit.global_test
    words = f"{counted(len(fit.readings), 'scalar reading')}, {fit.dof} more than needed. "
    if test.ok is None:
        words += "Nothing checks them against each other."
    elif test.low is not None and test.high is not None:
        fits = "they fit together" if test.ok else "they do not fit together as stated"
        words += f"Global test {test.statistic:.1f}, expected {test.low:.1f} to {test.high:.1f}: "
        words += f"{fits}."
    tone = Tone.OPEN if test.ok is None else Tone.OK if test.ok else Tone.NOT_OK
    blocks: list[Block] = [
        Heading("Readings"),
        Paragraph(Said(words, tone=tone)),
        Paragraph(Said(f"Datum: {fit.datum}.", tone=Tone.QUIET)),
    ]
    if fit.suspects_note:
        blocks.append(Paragraph(Said(fit.suspects_note, tone=Tone.OPEN)))
    if suspects:
        columns = (
            Column("no."),
            Column("reading", 1.5),
            Column("component"),
            Column(f"residual, {_unit(job)}", 0.0, Align.RIGHT),
            Column("w (limit 3.29)", 0.0, Align.RIGHT),
            Column(""),
        )
        blocks.append(Table(columns, tuple(_suspect(job, row) for row in suspects)))
    return tuple(blocks)


def _next(fit: FitAnswer) -> tuple[Block, ...]:
    lines = tuple(
        Said(f"{reading.words} (takes away {100 * reading.gain:.0f} % of the doubt)")
        for reading in fit.next[:5]
        if reading.gain >= 0.005
    )
    if not lines:
        return ()
    return (Box(BoxKind.INFO, "Worth reading next, best first", lines),)


def _body(fit: FitAnswer) -> Iterator[Block]:
    tones = {
        BodyStatus.TRUE: Tone.OK,
        BodyStatus.RACKED: Tone.NOT_OK,
        BodyStatus.NOT_CHECKED: Tone.OPEN,
    }
    yield Heading("Is the body itself true?")
    yield Paragraph(Said(fit.body.words, tone=tones[fit.body.status]))


def fit_section(job: Job) -> Section:
    """Where the panel sits and what the readings cannot see."""
    fit = job.answers.fit
    if isinstance(fit, Unanswered):
        return Section("Fit", (missing("Where the panel sits", fit),))
    parts = tuple(block for part in fit.parts for block in _part(job, fit, part))
    if not parts:
        parts = (
            Paragraph(Said("No part has a target position or a reading yet.", tone=Tone.OPEN)),
        )
    problems = tuple(Said(f"{p.where}: {p.what}") for p in fit.problems)
    boxes: tuple[Block, ...] = ()
    if problems:
        boxes = (Box(BoxKind.MISSING, "Left out of the fit", problems),)
    return Section(
        "Fit", (*parts, *_body(fit), *_readings(job, fit), *_next(fit), *boxes), fresh=True
    )
