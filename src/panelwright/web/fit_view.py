"""What the Fit page says: first what to do, then each part, then why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.facts.assumed import KINDS
from panelwright.fit.before_words import before_said
from panelwright.fit.body import body_words
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.next_words import worth_words
from panelwright.fit.part_answer import Verdict
from panelwright.fit.words import joined
from panelwright.quantities import Units, in_units, show_fraction, show_length
from panelwright.record import Unanswered
from panelwright.web.fit_before import before_of
from panelwright.web.fit_checks import ChecksView, Recheck, checks_view, rechecks_of
from panelwright.web.fit_list import is_worth, wanted
from panelwright.web.fit_part import PartView, part_view
from panelwright.web.fit_stages import Stage
from panelwright.web.fit_targets import target_of_next
from panelwright.web.fit_tools import proposals
from panelwright.web.shown import Sign
from panelwright.web.worded import on_pages

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.next_answer import NextReading
    from panelwright.web.fit_stages import Stages

LITTLE = 0.05
"""A reading that settles or takes away less of the doubt is not what to do next."""
BODY_SIGNS = {
    BodyStatus.TRUE: (Sign.GOOD, "The body is true"),
    BodyStatus.RACKED: (Sign.BAD, "The body may be racked"),
    BodyStatus.NOT_CHECKED: (Sign.UNSURE, "The body is not checked"),
}


@dataclass(frozen=True)
class Instruction:
    """The page's first line, and where its button leads."""

    words: str
    why: str = ""
    bad: bool = False
    button: str = ""
    path: str = ""


@dataclass(frozen=True)
class BodyView:
    """Whether the body is true, with what each undamaged pair shows."""

    sign: Sign
    word: str
    words: str
    pairs: tuple[tuple[str, tuple[str, str, str]], ...]


@dataclass(frozen=True)
class NextView:
    """A reading worth taking next."""

    words: str
    why: str
    path: str


@dataclass(frozen=True)
class FitView:
    """The Fit page."""

    instruction: Instruction
    body: BodyView | None
    parts: tuple[PartView, ...]
    rechecks: tuple[Recheck, ...]
    suspects_note: str
    next: tuple[NextView, ...]
    deciders: tuple[str, ...]
    left_out: tuple[str, ...]
    notes: tuple[str, ...]
    taken: int
    listed: int
    waiting: int
    checks: ChecksView | None = None
    before: tuple[str, ...] = ()
    """What to read while the old part is still on: the whole, then each."""
    taught: tuple[str, ...] = ()
    """Tools whose uncertainty repeats propose."""


def view_of(
    repair: Repair, stages: Stages, fit: FitAnswer | Unanswered, units: Units, path: str
) -> FitView:
    """Give what the page shows; `path` is its own address."""
    lines = wanted(repair, stages, stages.now, fit)
    taken = sum(line.index is not None for line in lines)
    waiting = sum(len(repair.assumed.ids(kind)) for kind in FITTED_KINDS)
    if isinstance(fit, Unanswered):
        first = _unanswered(stages.now, len(lines), waiting, path)
        return FitView(first, None, (), (), "", (), (), fit.why, (), taken, len(lines), waiting)
    parts = tuple(part_view(repair, fit, part, stages, units) for part in fit.parts)
    rechecks = rechecks_of(repair, fit, units, path)
    shown_next = tuple(
        _next(one, len(fit.deciders), units, path, _judged_in(stages)) for one in fit.next
    )
    return FitView(
        instruction=_instruction(fit, stages, parts, (rechecks, shown_next), units, path),
        body=_body(fit, units),
        parts=parts,
        rechecks=rechecks,
        suspects_note=fit.suspects_note,
        next=tuple(view for view, one in zip(shown_next, fit.next, strict=True) if is_worth(one)),
        deciders=tuple(f"{decider.words}." for decider in fit.deciders),
        left_out=tuple(f"{p.where}: {on_pages(in_units(p.what, units))}" for p in fit.problems),
        notes=_notes(fit),
        checks=checks_view(fit, units),
        before=before_said(before_of(repair, fit)),
        taught=proposals(fit),
        taken=taken,
        listed=len(lines),
        waiting=waiting,
    )


FITTED_KINDS = tuple(kind for kind in KINDS if kind not in ("part", "joint"))


def take_path(path: str, stage: Stage, key: str = "") -> str:
    """Give the address of the list of readings, or of one of it."""
    return f"{path}/take?stage={stage.key}" + (f"&at={quote(key, safe='')}" if key else "")


def read_path(path: str, key: str) -> str:
    """Give the address at which one reading is entered."""
    return f"{path}/read?of={quote(key, safe='')}"


def _unanswered(stage: Stage, listed: int, waiting: int, path: str) -> Instruction:
    if listed:
        return Instruction(
            _take_words(stage), "Nothing is known of where it sits yet.", False, *_take(path, stage)
        )
    if waiting:
        return Instruction(
            "Confirm what the starting layout assumes.",
            "Points and places come from a layout that knows no vehicle: what is right on this "
            "one counts once you say so.",
            False,
            "Go through them",
            f"{path}/confirm",
        )
    return Instruction(
        "Say what there is to measure.",
        "Points on both sides of the body and on the panel, gaps, flanges, pins.",
        False,
        "Add a point or a place",
        f"{path}/add",
    )


def _take_words(stage: Stage) -> str:
    if not stage.number:
        return "Take the readings before anything is cut."
    return f"Take the readings of dry fit {stage.number}."


def _take(path: str, stage: Stage) -> tuple[str, str]:
    return "Take the readings", take_path(path, stage)


def _instruction(
    fit: FitAnswer,
    stages: Stages,
    parts: tuple[PartView, ...],
    readings: tuple[tuple[Recheck, ...], tuple[NextView, ...]],
    units: Units,
    path: str,
) -> Instruction:
    rechecks, following = readings
    stage = stages.now
    if rechecks:
        which = joined([one.words for one in rechecks])
        return Instruction(
            f"Read again: {which}.",
            rechecks[0].said if len(rechecks) == 1 else "They do not fit the other readings.",
            True,
            "Read it again",
            rechecks[0].path,
        )
    if fit.body.status is BodyStatus.RACKED:
        why = body_words(
            fit.body.status, fit.body.pairs, fit.body.sheet, units, openings=fit.body.openings
        )
        return Instruction("Structure before skin.", f"{why[:1].upper()}{why[1:]}.", True)
    if not stage.number:
        return _before(fit, stage, path)
    for part in parts:
        if not part.readings:
            return Instruction(
                f"{part.label}: take the readings of dry fit {part.setting}.",
                "Hang what meets it: doors, lamps, bumper.",
                False,
                *_take(path, stage),
            )
    return _worst(fit, parts, following) or Instruction(
        "Not proven, and no reading known here would prove it.",
        "See what these readings do not check; add a point or a place that can be read there.",
        True,
        "Add a point or a place",
        f"{path}/add",
    )


def _before(fit: FitAnswer, stage: Stage, path: str) -> Instruction:
    if fit.body.status is BodyStatus.NOT_CHECKED:
        return Instruction(
            _take_words(stage),
            "Openings and diagonals tell whether the body is racked: structure before skin.",
            False,
            *_take(path, stage),
        )
    return Instruction(
        "The body is true by these readings. Once the new panel hangs, take the readings of "
        "dry fit 1.",
        "What comes off, and in which order, stands on the page Findings.",
        False,
        "Dry fit 1: take the readings",
        f"{path}/take?stage=1",
    )


def _steps(part: PartView) -> list[str]:
    """Give what to do to a part: adjusters first, then pushes."""
    rows = part.adjusters.rows if part.adjusters is not None else ()
    sets = [f"set the {one.name}: {one.does}" for one in rows if one.changes]
    return [*sets, *(move.words for move in part.moves)]


def _worst(
    fit: FitAnswer, parts: tuple[PartView, ...], following: tuple[NextView, ...]
) -> Instruction | None:
    """Give what to do about the part that is worst off; None where nothing is known to help."""
    for part in parts:
        steps = _steps(part)
        if part.verdict is Verdict.OUTSIDE and steps:
            first = steps[0]
            more = len(steps) - 1
            what = "step" if part.adjusters else "push"
            many = {"step": "steps", "push": "pushes"}[what]
            pushes = f"Then {more} more {what if more == 1 else many}; " if more else ""
            which = f"{part.label}: " if len(parts) > 1 else ""
            return Instruction(
                f"{which}{first}."[:1].upper() + f"{which}{first}."[1:],
                f"{pushes or 'Then '}read again as a new dry fit.",
                bad=True,
            )
    helpful = [view for view, one in zip(following, fit.next, strict=True) if _helps(one)]
    if helpful and any(part.verdict is not Verdict.INSIDE for part in parts):
        words_ = helpful[0].words
        why = f"Not proven yet: this {helpful[0].why}."
        return Instruction(
            f"Next: {words_[:1].lower()}{words_[1:]}.", why, False, "Take it now", helpful[0].path
        )
    for part in parts:
        steps = _steps(part)
        if part.verdict is not Verdict.INSIDE and steps:
            return Instruction(
                f"The {part.label} is near its limit: {steps[0]}.",
                "No further reading helps much; bring it closer, then read again.",
            )
    if parts and all(part.verdict is Verdict.INSIDE for part in parts):
        which = joined([part.label for part in parts])
        return Instruction(f"It is home: pin the {which}.", "Then measure once more.")
    return None


def _helps(reading: NextReading) -> bool:
    return reading.gain >= LITTLE or reading.settles >= LITTLE


def _body(fit: FitAnswer, units: Units) -> BodyView:
    body = fit.body
    sign, word = BODY_SIGNS[body.status]
    said = body_words(body.status, body.pairs, body.sheet, units, openings=body.openings)
    pairs = tuple(
        (
            f"{pair.point} and {pair.twin}",
            _three(tuple("–" if d is None else show_length(d, units) for d in pair.difference_mm)),
        )
        for pair in body.pairs
    )
    return BodyView(sign, word, f"{said[:1].upper()}{said[1:]}.", pairs)


def _three(values: tuple[str, ...]) -> tuple[str, str, str]:
    x, y, z = values
    return x, y, z


def _judged_in(stages: Stages) -> Stage:
    """Give the dry fit whose verdicts further readings would settle."""
    return stages.now if stages.now.is_fit else Stage(1)


def _next(reading: NextReading, waiting: int, units: Units, path: str, stage: Stage) -> NextView:
    target = target_of_next(reading)
    said = f"{reading.words[:1].upper()}{reading.words[1:]}"
    if reading.length_mm is not None:
        said += f", about {about_words(reading.length_mm, units)}"
    why = worth_words(reading, waiting)
    there = f"{read_path(path, target.key)}&stage={stage.key}" if target else path
    return NextView(said, why, there)


def about_words(mm: float, units: Units) -> str:
    """Say about how long a span is, as it stands on the tape."""
    return show_fraction(mm, 4) if units is Units.IN else show_length(mm, units, 10.0)


def _notes(fit: FitAnswer) -> tuple[str, ...]:
    test = fit.global_test
    said = [
        f"Verdicts need a probability of {100 * fit.confidence:g} %.",
        f"Datum: {fit.datum}.",
        f"{len(fit.readings)} scalar readings, {fit.dof} more than needed.",
        f"Adjustment {fit.status} after {fit.iterations} iterations.",
    ]
    if test.low is not None and test.high is not None:
        fits = "they fit together" if test.ok else "they do not fit together as stated"
        said.append(
            f"All readings together: {test.statistic:.1f}, expected {test.low:.1f} to "
            f"{test.high:.1f}: {fits}."
        )
    return tuple(said)
