"""Where to put the lamp, on the screen of a joint's cure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.bond.lamp_words import away, held, lines
from panelwright.errors import Unanswerable
from panelwright.record import strokes
from panelwright.record.strokes import ACCENT, INK, PALE, SOFT, WASH

if TYPE_CHECKING:
    from panelwright.bond.lamp_answer import LampAnswer
    from panelwright.facts.repair import Repair
    from panelwright.quantities import Units

WIDE_MM, HIGH_MM = 120.0, 44.0


@dataclass(frozen=True)
class LampView:
    """What the page says of the best standing.

    Attributes
    ----------
    gain : str
        What it brings, over one fixed place and over no lamp.
    lines, away : tuple of str
    svg : str
        The joint with the lamp's outlines; empty where no lamp is proposed.
    """

    gain: str
    lines: tuple[str, ...]
    away: tuple[str, ...]
    svg: str


def answer_or_why(repair: Repair, joint: str) -> LampAnswer | tuple[str, ...]:
    """Give the answer, or in words why there is none; a function of a module for the worker."""
    from panelwright.bond.lamp_answer import lamp_answer  # noqa: PLC0415 - where it is worked out

    try:
        return lamp_answer(repair, joint)
    except Unanswerable as error:
        return tuple(error.why)


def view_of(answer: LampAnswer, units: Units) -> LampView:
    """Give what the page shows."""
    best, usual = answer.advice.best, answer.advice.usual
    gain = ""
    if best is not None:
        sooner = 1.0 - best.handle_min.late / usual.handle_min.late
        gain = f"Holds {100 * sooner:.0f} % sooner than with the lamp fixed before the middle."
        if sooner <= 0:
            gain = f"Holds after {held(best.handle_min)}."
    return LampView(gain, lines(answer, units), away(answer, units), _picture(answer))


def _picture(answer: LampAnswer) -> str:
    """The joint as a bar with each place of the lamp, in its turn, to scale along it."""
    best = answer.advice.best
    if best is None:
        return ""
    half = answer.size_mm[0] / 2
    reach = max(half, 0.1 * answer.length_mm)
    scale = (WIDE_MM - 8.0) / (answer.length_mm + 2 * reach)

    def x(mm: float) -> float:
        return 4.0 + (mm + reach) * scale

    bar = strokes.box(
        (x(0.0), 30.0), answer.length_mm * scale, 4.0, f'fill="{WASH}" stroke="{INK}"'
    )
    shapes = [bar, strokes.words("joint", (x(0.0), 38.5), colour=SOFT)]
    places = sorted({one.along_mm for one in best.standings})
    for one in places:
        wide = answer.size_mm[0] * scale
        outline = f'fill="none" stroke="{ACCENT}" stroke-width="0.6"'
        shapes.append(strokes.box((x(one) - wide / 2, 16.0), wide, 6.0, outline))
        shapes.append(strokes.line((x(one), 22.0), (x(one), 30.0), PALE, 0.3, "1 1"))
        turns = [
            f"{number}: {turn.from_min:.0f}–{turn.to_min:.0f} min"
            for number, turn in enumerate(best.standings, start=1)
            if turn.along_mm == one
        ]
        for line, words in enumerate(reversed(turns)):
            shapes.append(strokes.words(words, (x(one) - wide / 2, 14.0 - 4.0 * line)))
    return strokes.drawing(WIDE_MM, HIGH_MM, shapes)
