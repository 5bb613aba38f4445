"""Adjusters on the fit page: how to set them, what is expected then, what limits it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.cli.text import bullets, table, wrap
from panelwright.fit.adjuster_words import parts_said, place_said, reach_words, setting_words
from panelwright.fit.words import move_words
from panelwright.quantities import Units, in_units, show_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.fit.adjuster_answer import AdjusterSetting, ExpectedPlace, Reach
    from panelwright.fit.answer import Answer
    from panelwright.fit.part_answer import PartFit

WORST_SHOWN = 5


def what_to_do(part: PartFit, units: Units) -> tuple[str, str]:
    """What is to be done to a part, and its lines: adjusters to set, then pushes.

    Parameters
    ----------
    part : PartFit
    units : Units
        Of the page.

    Returns
    -------
    tuple of (str, str)
        Such as "move it", and one line for each push; no lines where nothing is to be done.
    """
    pushes = [
        move_words(move.place, np.array(move.along) * move.by_mm, units) for move in part.moves
    ]
    sets = [setting_words(one, units) for one in part.settings if one.changes]
    if not sets:
        return "move it", bullets(pushes, indent=2) if pushes else ""
    lines = bullets(sets, indent=2)
    if not pushes:
        return "set its adjusters", lines
    then = wrap("with that it has to go as follows; where no adjuster takes it, push it:", indent=2)
    return "set its adjusters", f"{lines}\n{then}\n{bullets(pushes, indent=2)}"


def adjusters_block(part: PartFit, answer: Answer, units: Units) -> Iterator[str]:
    """Every adjuster of a part, and what they can reach.

    Parameters
    ----------
    part : PartFit
    answer : Answer
    units : Units
        Of the page.

    Yields
    ------
    str
        Nothing where none is to be set.
    """
    reach = next((one for one in answer.reach if part.id in one.parts), None)
    if reach is None or not part.settings:
        return
    header = ("adjuster", "stands at", "change", "set to", "range", "note")
    rows = [_row(setting, units) for setting in part.settings]
    yield "\n" + table(header, rows, align="<>>>><")
    if part.id == reach.parts[0]:
        yield _expected(reach, units)
        yield wrap(f"{parts_said(reach)}{reach_words(reach, units)}.")
    else:
        yield wrap(f"Set together with {reach.parts[0]}: see there.")


def _row(setting: AdjusterSetting, units: Units) -> tuple[str, ...]:
    low, high = (show_length(end, units) for end in setting.range_mm)
    notes = [in_units(setting.note, units)] if setting.note else []
    if setting.at_end:
        notes.insert(0, "at its end")
    if setting.steps:
        number = "1 shim" if abs(setting.steps) == 1 else f"{abs(setting.steps)} shims"
        notes.insert(0, f"{number} {'more' if setting.steps > 0 else 'fewer'}")
    return (
        setting.name,
        show_length(setting.from_mm, units),
        f"{show_length(setting.by_mm, units)}" if setting.changes else "leave it",
        show_length(setting.to_mm, units),
        f"± {high}" if low == f"-{high}" else f"{low} to {high}",
        "; ".join(notes),
    )


def _expected(reach: Reach, units: Units) -> str:
    """The places that will be farthest off."""
    farthest = sorted(reach.expected, key=lambda place: -place.ratio)[:WORST_SHOWN]
    header = (
        "expected then, farthest first",
        "off",
        "tolerance",
        "of it, now",
        "of it, then",
        "chance inside",
    )
    return table(header, [_place(place, units) for place in farthest], align="<>>>>>")


def _place(place: ExpectedPlace, units: Units) -> tuple[str, ...]:
    p = place.p_inside
    chance = f"{100.0 * p:.1f} %" if 0.001 <= p <= 0.999 else "above 99.9 %"
    return (
        place_said(place),
        show_length(place.off_mm, units),
        show_length(place.tolerance_mm, units),
        f"{100.0 * place.ratio_now:.0f} %",
        f"{100.0 * place.ratio:.0f} %",
        chance if p > 0.001 else "below 0.1 %",
    )
