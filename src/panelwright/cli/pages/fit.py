"""The fit page: what to do now, then where every part sits, then why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.cli.pages.fit_adjusters import adjusters_block, what_to_do
from panelwright.cli.pages.fit_checks import (
    homes_section,
    openings_table,
    recheck_section,
    sees_section,
)
from panelwright.cli.pages.fit_means import means_section, open_section, spring_lines
from panelwright.cli.pages.fit_next import before_section, is_worth, next_section, next_words
from panelwright.cli.text import bullet, bullets, heading, table, wrap
from panelwright.cli.text import page as laid_out
from panelwright.fit.body import body_words
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.origins import sources_in
from panelwright.fit.part_answer import Verdict
from panelwright.fit.recheck import recheck_words
from panelwright.fit.words import unseen_words
from panelwright.quantities import Units, in_units, show_length, show_length_with_u
from panelwright.sources import marks

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.fit.answer import Answer
    from panelwright.fit.part_answer import HomedPoint, PartFit, StationFit
    from panelwright.fit.reading_answer import ReadingRow

NOTHING = "–"
NOTHING_FITTED = (
    "No part is fitted here: give a point of the part its home, or read a station, contact or "
    "locator of it."
)
CAUTIONS = (
    "Cut edges are sharp: gloves and sleeves.",
    "Support the panel before pins or clamps are slackened; two people for a large one.",
    "The maker's procedure, its dimensions and tolerances govern; a number here overrides none.",
)


def _off(value_mm: float, u_mm: float | None, units: Units) -> str:
    if u_mm is None:
        return "not seen"
    return show_length_with_u(value_mm, u_mm, units) if u_mm > 0 else show_length(value_mm, units)


def _chance(p: float | None) -> str:
    if p is None:
        return NOTHING
    if 0.001 <= p <= 0.999:
        return f"{100.0 * p:.1f} %"
    return "above 99.9 %" if p > 0.5 else "below 0.1 %"


def _body_words(answer: Answer, units: Units) -> str:
    body = answer.body
    return body_words(body.status, body.pairs, body.sheet, units, openings=body.openings)


def _judged(part: PartFit) -> list[HomedPoint | StationFit]:
    return [*part.points, *part.stations]


def _part_instruction(part: PartFit, answer: Answer, units: Units) -> str:
    verdicts = [place.verdict for place in _judged(part)]
    name = part.label or part.id
    does, lines = what_to_do(part, units)
    if answer.body.first:
        return bullet(f"{name}: leave it where it is: the body comes first.")
    if part.verdict is Verdict.INSIDE:
        return bullet(f"{name}: it is where it belongs. Pin it, then measure once more.")
    if part.swings and Verdict.OUTSIDE not in verdicts:
        free = next(motion for motion in part.unseen if motion.u_mm is None)
        said = unseen_words(free.place, np.array(free.along), None, units)
        return bullet(f"{name}: do not pin it yet; {said}.")
    if lines and Verdict.OUTSIDE in verdicts:
        return f"{bullet(f'{name}: {does}, then read again as a new dry fit:')}\n{lines}"
    helpful = [next_words(reading, units) for reading in answer.next if is_worth(reading)]
    if helpful:
        return bullet(f"{name}: not proven yet. Next, {helpful[0]}.")
    near = bullet(f"{name}: near its limit; to bring it home:")
    unproven = f"{name}: not proven, and no reading known here would prove it; see below."
    return f"{near}\n{lines}" if lines else bullet(unproven)


def _instruction(answer: Answer, units: Units) -> str:
    lines = []
    if answer.body.status is BodyStatus.RACKED:
        lines.append(bullet(f"Structure before skin: {_body_words(answer, units)}."))
    lines += [
        bullet(f"Recheck {recheck_words(one, units)}") for one in answer.recheck if one.located
    ]
    if answer.suspects_note:
        lines.append(bullet(f"{answer.suspects_note[:1].upper()}{answer.suspects_note[1:]}."))
    if answer.moves_wait:  # every move rests on that reading, too
        wait = "do not move or pin it before that is read again."
        lines += [bullet(f"{part.label or part.id}: {wait}") for part in answer.parts]
    else:
        lines += [_part_instruction(part, answer, units) for part in answer.parts]
    if not answer.parts:
        lines.append(bullet(NOTHING_FITTED))
    return laid_out(heading("What to do now").lstrip("\n"), *lines)


def _body(answer: Answer, units: Units) -> str:
    rows = [
        (
            f"{pair.point} / {pair.twin}",
            *(
                NOTHING if d is None else _off(d, u, units)
                for d, u in zip(pair.difference_mm, pair.u_mm, strict=True)
            ),
        )
        for pair in answer.body.pairs
    ]
    return laid_out(
        heading("Is the body itself true?"),
        wrap(f"{answer.body.status}: {_body_words(answer, units)}."),
        table(("pair", "x differs", "y differs", "z differs"), rows, align="<>>>") if rows else "",
        openings_table(answer.body, units),
    )


def _point_row(point: HomedPoint, units: Units) -> tuple[str, ...]:
    off = [_off(value, u, units) for value, u in zip(point.off_mm, point.u_mm, strict=True)]
    note = in_units(point.note, units)
    if point.shape_finding:
        shape = ", ".join(show_length(value, units) for value in point.shape_mm)
        note = "; ".join(filter(None, (note, f"shape differs by {shape}: look at panel and twin")))
    return (point.id, *off, _chance(point.p_inside), str(point.verdict), note)


def _station_row(station: StationFit, units: Units) -> tuple[str, ...]:
    values = [
        NOTHING if value is None else _off(value, u, units)
        for value, u in zip((station.gap_mm, station.flush_mm), station.u_mm, strict=True)
    ]
    return (
        station.id,
        *values,
        _chance(station.p_inside),
        str(station.verdict),
        in_units(station.note, units),
    )


_WAYS = (("rearward", "forward"), ("to the right", "to the left"), ("up", "down"))


def _place(part: PartFit, units: Units) -> str:
    """Shift and turn of the whole part, each with its standard uncertainty."""
    shift = [
        _off(v, u, units) if u is None else f"{_off(abs(v), u, units)} {ways[v < 0]}"
        for v, u, ways in zip(part.shift_mm, part.shift_u_mm, _WAYS, strict=True)
    ]
    turn = [
        "not seen" if u is None else f"{v:.1f} ± {u:.1f} mrad"
        for v, u in zip(part.turn_mrad, part.turn_u_mrad, strict=True)
    ]
    return (
        f"The whole part: {shift[0]}, {shift[1]}, {shift[2]} of home; turned by {turn[0]} in roll, "
        f"{turn[1]} in pitch, {turn[2]} in yaw (1 mrad: a thousandth of its length)."
    )


def _part(part: PartFit, answer: Answer, units: Units) -> Iterator[str]:
    yield heading(f"{part.label or part.id}, dry fit {part.setting}")
    yield wrap(_place(part, units))
    if part.points:
        columns = ("point", "x off", "y off", "z off", "chance inside", "verdict", "note")
        yield table(columns, [_point_row(p, units) for p in part.points], align="<>>>><<")
        yield "Off: rearward, to the right and up from the target position, with its u."
    if part.stations:
        header = ("gap and flush at", "gap", "flush", "chance inside", "verdict", "note")
        yield table(header, [_station_row(s, units) for s in part.stations], align="<>>><<")
    yield from adjusters_block(part, answer, units)
    if part.moves:
        yield "\n".join(wrap(caution, indent=2) for caution in CAUTIONS[:2])
    if part.spring:
        yield bullets(spring_lines(part, units))
    if part.unseen:
        yield "\nNot checked by these readings:"
        yield bullets(
            unseen_words(unseen.place, np.array(unseen.along), unseen.u_mm, units, unseen.reach_mm)
            for unseen in part.unseen
        )


READING_HEADER = ("reading", "of", "residual", "w", "redundancy", "error noticed from", "note")


def _reading_row(row: ReadingRow, units: Units) -> tuple[str, ...]:
    return (
        f"{row.index} {row.component}",
        row.about,
        show_length(row.residual_mm, units, 0.1),
        NOTHING if row.w is None else f"{row.w:.2f}",
        f"{row.redundancy:.2f}",
        NOTHING if row.mdb_mm is None else show_length(row.mdb_mm, units),
        "recheck" if row.suspect else "" if row.checked else "nothing checks it",
    )


def _figures(answer: Answer, units: Units) -> str:
    test = answer.global_test
    factor = NOTHING if answer.variance_factor is None else f"{answer.variance_factor:.3f}"
    ended = f"Adjustment {answer.status} after {answer.iterations} iterations"
    said = [
        f"Datum: {answer.datum}.",
        f"Degrees of freedom {answer.dof}; variance factor {factor}.",
        f"{ended}; verdicts at {100.0 * answer.confidence:g} % confidence.",
    ]
    if test.low is not None and test.high is not None:
        outcome = "they agree"
        if test.statistic > test.high:
            outcome = "they do not agree with the stated uncertainties"
        elif test.statistic < test.low:
            outcome = "they agree better than the stated uncertainties allow: are these too large?"
        said.append(
            f"All readings together (chi-square, 95 %): {test.statistic:.3g}, expected "
            f"{test.low:.3g} to {test.high:.3g}: {outcome}."
        )
    return laid_out(
        heading("Figures"),
        bullets(said),
        table(READING_HEADER, [_reading_row(row, units) for row in answer.readings], align="<<>>>>")
        if answer.readings
        else "",
    )


def _sources(answer: Answer, units: Units) -> str:
    travelling = marks(answer.sources)
    return laid_out(
        heading("Where the numbers come from"),
        bullets(str(source) for source in sources_in(answer.sources, units)),
        wrap(f"Marks: {', '.join(travelling)}.") if travelling else "",
        wrap(CAUTIONS[2]),
    )


def _problems(answer: Answer, units: Units) -> str:
    if not answer.problems:
        return ""
    lines = [f"{problem.where}: {in_units(problem.what, units)}" for problem in answer.problems]
    return laid_out(heading("Left out, and told"), bullets(lines))


def page(answer: Answer, units: Units) -> str:
    """Lay out the fit page.

    Parameters
    ----------
    answer : Answer
    units : Units
        Millimetres or inches.

    Returns
    -------
    str
    """
    return laid_out(
        _instruction(answer, units),
        before_section(answer.before_cut, units),
        _body(answer, units),
        *(laid_out(*_part(part, answer, units)) for part in answer.parts),
        recheck_section(answer, units),
        sees_section(answer, units),
        homes_section(answer, units),
        next_section(answer, units),
        open_section(answer, units),
        means_section(answer, units),
        _problems(answer, units),
        _figures(answer, units),
        _sources(answer, units),
    )
