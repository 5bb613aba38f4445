"""Sentences of the fit in the units of the pages, built from its numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer
    from panelwright.fit.body_answer import BodyAnswer
    from panelwright.fit.next_answer import NextReading
    from panelwright.fit.part_answer import Move, PartFit, Unseen

LEAST_GAIN = 0.005
"""A proposal that settles or takes away less of the doubt is not worth the walk."""


def move_said(move: Move, units: Units) -> str:
    """Where to push, which way, how far."""
    if units is Units.MM:
        return move.words
    import numpy as np  # noqa: PLC0415 - the fit's words are made from arrays

    from panelwright.fit.words import move_words  # noqa: PLC0415

    return move_words(move.place, np.array(move.along) * move.by_mm, units)


def settings_said(part: PartFit, units: Units) -> tuple[str, ...]:
    """How to set the adjusters of a part that are to be changed."""
    changed = [setting for setting in part.settings if setting.changes]
    if units is Units.MM:
        return tuple(setting.words for setting in changed)
    from panelwright.fit.adjuster_words import setting_words  # noqa: PLC0415

    return tuple(setting_words(setting, units) for setting in changed)


def reach_said(fit: Answer, part: PartFit, units: Units) -> tuple[str, ...]:
    """How good adjusters can get it; said once for parts that are set together."""
    reached = [reach for reach in fit.reach if reach.parts[0] == part.id]
    if not reached:
        return ()
    from panelwright.fit.adjuster_words import parts_said, reach_words  # noqa: PLC0415

    words = [f"{parts_said(reach)}{reach_words(reach, units)}." for reach in reached]
    return tuple(f"{said[:1].upper()}{said[1:]}" for said in words)


def unseen_said(unseen: Unseen, units: Units) -> str:
    """What these readings would not show."""
    if units is Units.MM:
        return unseen.words
    import numpy as np  # noqa: PLC0415

    from panelwright.fit.words import unseen_words  # noqa: PLC0415

    return unseen_words(unseen.place, np.array(unseen.along), unseen.u_mm, units, unseen.reach_mm)


def rechecks_said(fit: Answer, units: Units) -> tuple[str, ...]:
    """Readings to take again, with what the others say of each."""
    if units is Units.MM:
        return tuple(one.words for one in fit.recheck)
    from panelwright.fit.recheck import recheck_words  # noqa: PLC0415

    return tuple(recheck_words(one, units) for one in fit.recheck)


def unchecked_said(fit: Answer, units: Units) -> tuple[str, ...]:
    """Readings that nothing checks, or next to nothing."""
    from panelwright.fit.reliability import check_words  # noqa: PLC0415

    return check_words(fit.readings, units)


def conflicts_said(fit: Answer, units: Units) -> tuple[str, ...]:
    """Sources of a target position that do not agree."""
    apart = [check for check in fit.homes if not check.ok]
    if units is Units.MM or not apart:
        return tuple(check.words for check in apart)
    from panelwright.fit.home_conflicts import conflict_words  # noqa: PLC0415

    return tuple(conflict_words(check, units) for check in apart)


def body_said(body: BodyAnswer, units: Units) -> str:
    """Whether the body itself is true."""
    if units is Units.MM:
        return body.words
    from panelwright.fit.body import body_words  # noqa: PLC0415

    return body_words(body.status, body.pairs, body.sheet, units, openings=body.openings)


def next_said(reading: NextReading, units: Units) -> str:
    """A reading worth taking, and about how long it will be."""
    if reading.length_mm is None:
        return reading.words
    return f"{reading.words}, about {show_length(reading.length_mm, units, 10.0)}"


def worth_said(fit: Answer, units: Units) -> tuple[str, ...]:
    """Readings worth taking next, best first, with what each is expected to do."""
    worth = [one for one in fit.next[:5] if one.gain >= LEAST_GAIN or one.settles >= LEAST_GAIN]
    if not worth:
        return ()
    from panelwright.fit.next_words import worth_words  # noqa: PLC0415

    waiting = len(fit.deciders)
    return tuple(f"{next_said(one, units)} ({worth_words(one, waiting)})" for one in worth)
