"""One part on the Fit page: verdict, moves, drawing, points, gaps, what is not checked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.part_answer import Verdict
from panelwright.fit.settings import parts_read
from panelwright.fit.words import displacement_words, unseen_words
from panelwright.quantities import Units, in_units, show_length
from panelwright.record.answer import Answers, Options, Unanswered
from panelwright.record.figures import percent, signed
from panelwright.record.job import Job
from panelwright.record.pages.fit_drawing import LETTERS, drawn
from panelwright.web.fit_adjusters import AdjustersView, adjusters_view
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import HomedPoint, Move, PartFit, StationFit
    from panelwright.web.fit_stages import Stages

SIGNS = {
    Verdict.INSIDE: (Sign.GOOD, "home"),
    Verdict.OUTSIDE: (Sign.BAD, "not home"),
    Verdict.UNDECIDED: (Sign.UNSURE, "not proven"),
}
ROW_SIGNS = {
    Verdict.INSIDE: Sign.GOOD,
    Verdict.OUTSIDE: Sign.BAD,
    Verdict.UNDECIDED: Sign.UNSURE,
}
NOTHING = Unanswered(())
ROOM_MM = (118.0, 110.0)
"""Of the drawing on the page: its letters are as large as the page's on a tablet."""


@dataclass(frozen=True)
class MoveView:
    """A push: its letter on the drawing, the place, and how far which way."""

    letter: str
    place: str
    by: str
    words: str


@dataclass(frozen=True)
class PointRow:
    """A point against its target position."""

    id: str
    name: str
    off: tuple[str, str, str]
    chance: str
    best: str
    sign: Sign
    verdict: str
    note: str


@dataclass(frozen=True)
class StationRow:
    """A gap-and-flush check."""

    name: str
    wanted: str
    gap: str
    flush: str
    chance: str
    sign: Sign
    verdict: str
    note: str


@dataclass(frozen=True)
class PartView:
    """A part in its latest dry fit.

    Attributes
    ----------
    readings : int
        How many readings touch it in this dry fit; none: nothing is judged yet.
    svg : str
        Three-view drawing, empty where no point has a target position.
    """

    id: str
    label: str
    setting: int
    verdict: Verdict
    sign: Sign
    word: str
    counts: str
    readings: int
    moves: tuple[MoveView, ...]
    points: tuple[PointRow, ...]
    stations: tuple[StationRow, ...]
    unseen: tuple[str, ...]
    svg: str
    caption: str
    look: str
    """What the button to the drawing's own page says."""
    adjusters: AdjustersView | None = None


def part_view(
    repair: Repair, fit: FitAnswer, part: PartFit, stages: Stages, units: Units
) -> PartView:
    """Give one part as the page shows it."""
    verdict, counts = _verdict(part)
    sign, word = SIGNS[verdict]
    svg, caption = picture(repair, fit, (part,), units, ROOM_MM)
    moves = zip(LETTERS, part.moves, strict=False)
    return PartView(
        id=part.id,
        label=part.label or part.id,
        setting=part.setting,
        verdict=verdict,
        sign=sign,
        word=word,
        counts=counts,
        readings=_count(repair, part, stages),
        moves=tuple(_move(letter, move, units) for letter, move in moves),
        points=tuple(_point(repair, fit, point, units) for point in part.points),
        stations=tuple(_station(repair, station, units) for station in part.stations),
        unseen=tuple(
            _sentence(unseen_words(one.place, np.array(one.along), one.u_mm, units, one.reach_mm))
            for one in part.unseen
        ),
        svg=svg,
        caption=caption,
        look="Tap its points, compare its dry fits"
        if any(one.id == part.id for one in fit.earlier)
        else "Tap its points",
        adjusters=adjusters_view(fit, part, units),
    )


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _verdict(part: PartFit) -> tuple[Verdict, str]:
    every = [point.verdict for point in part.points] + [s.verdict for s in part.stations]
    counts = {verdict: every.count(verdict) for verdict in Verdict}
    words = ", ".join(f"{counts[v]} {v.value}" for v in Verdict if counts[v])
    if not every:
        return Verdict.UNDECIDED, "nothing to judge"
    if part.swings:
        words += "; a motion is not seen at all"
    return part.verdict, words


def _count(repair: Repair, part: PartFit, stages: Stages) -> int:
    return sum(
        part.id in parts_read(reading, repair)
        and stages.settings.of(reading, part.id) == part.setting
        for reading in repair.readings
    )


def _move(letter: str, move: Move, units: Units) -> MoveView:
    by = displacement_words(np.array(move.along) * move.by_mm, units)
    return MoveView(letter, move.place, by, f"push the {move.place} {by}")


def _point(repair: Repair, fit: FitAnswer, point: HomedPoint, units: Units) -> PointRow:
    x, y, z = (
        "not seen" if u is None else f"{signed(units, off, u)}"
        for off, u in zip(point.off_mm, point.u_mm, strict=True)
    )
    notes = [in_units(point.note, units)] if point.note else []
    if point.shape_finding:
        shape = ", ".join(show_length(value, units) for value in point.shape_mm)
        notes.append(f"shape differs by {shape}: look at panel and opposite side")
    if point.p_best is not None and point.p_best < fit.confidence:
        notes.append("these readings cannot prove it")
    declared = repair.point_by_id.get(point.id)
    return PointRow(
        point.id,
        (declared.name or "") if declared else "",
        (x, y, z),
        percent(point.p_inside),
        percent(point.p_best),
        ROW_SIGNS[point.verdict],
        point.verdict.value,
        "; ".join(notes),
    )


def _station(repair: Repair, station: StationFit, units: Units) -> StationRow:
    declared = next((one for one in repair.stations if one.id == station.id), None)
    checks = (("gap", declared.gap), ("flush", declared.flush)) if declared is not None else ()
    wants = [
        f"{name} {show_length(check.want.mm, units)}"
        + (f" ± {show_length(check.tolerance.mm, units)}" if check.tolerance else "")
        for name, check in checks
        if check is not None
    ]
    gap_u, flush_u = station.u_mm
    return StationRow(
        (declared.name or station.id) if declared else station.id,
        ", ".join(wants),
        signed(units, station.gap_mm, gap_u).lstrip("+"),
        signed(units, station.flush_mm, flush_u),
        percent(station.p_inside),
        ROW_SIGNS[station.verdict],
        station.verdict.value,
        in_units(station.note, units),
    )


def picture(
    repair: Repair,
    fit: FitAnswer,
    parts: tuple[PartFit, ...],
    units: Units,
    room_mm: tuple[float, float],
) -> tuple[str, str]:
    """Give the three-view drawing of a part in one dry fit, with its caption; both may be empty.

    The first of `parts` is drawn; displacements are drawn as large as all of them allow.
    """
    part, *beside = parts
    answers = Answers(NOTHING, NOTHING, fit, NOTHING, NOTHING, NOTHING)
    job = Job(repair, answers, Options(units=units))
    found = drawn(job, fit, part, room_mm, beside)
    if found is None:
        return "", ""
    words = f"{part.label or part.id}, dry fit {part.setting}: side, rear and top. {found.caption}"
    return found.svg, words
