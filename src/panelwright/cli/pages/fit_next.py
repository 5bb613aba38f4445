"""What to read next, what would decide each open verdict, what to read before cutting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.cli.text import bullets, heading, wrap
from panelwright.cli.text import page as laid_out
from panelwright.fit.next_words import worth_words
from panelwright.quantities import show_length

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer
    from panelwright.fit.next_answer import BeforeCut, BeforeReading, NextReading
    from panelwright.quantities import Units

LITTLE = 0.05
"""A reading that takes away less of the doubt is not worth the walk."""


def next_words(reading: NextReading | BeforeReading, units: Units) -> str:
    """What to read, with about how long a span is."""
    if reading.length_mm is None:
        return reading.words
    return f"{reading.words}, about {show_length(reading.length_mm, units, 10.0)}"


def is_worth(reading: NextReading) -> bool:
    """Whether a reading is worth the walk."""
    return reading.gain >= LITTLE or reading.settles >= LITTLE


def next_section(answer: Answer, units: Units) -> str:
    """What to read next, best first, and what would decide each open verdict."""
    if not answer.next and not answer.deciders:
        return ""
    waiting = len(answer.deciders)
    lines = [
        f"{next_words(reading, units)}: {worth_words(reading, waiting)}" for reading in answer.next
    ]
    if answer.next and not any(map(is_worth, answer.next)):
        lines.append("None of them helps much: what is in doubt lies near its limit. Move it.")
    lines += [f"Together: {readings.words}." for readings in answer.together]
    return laid_out(
        heading("What to read next") if lines else "",
        bullets(lines),
        heading("What would decide each open verdict") if answer.deciders else "",
        bullets(f"{decider.words}." for decider in answer.deciders),
    )


def before_section(found: BeforeCut | None, units: Units) -> str:
    """What to read while the old part is still on."""
    if found is None:
        return ""
    lines = [
        f"{next_words(reading, units)} ({reading.minutes:.1f} min): {reading.loses}"
        for reading in found.readings
    ]
    lines += [f"{one.words}." for one in found.cannot]
    return laid_out(heading("Before you cut"), wrap(f"{found.words}."), bullets(lines))
