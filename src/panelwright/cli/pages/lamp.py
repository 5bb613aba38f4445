"""The lamp's page: where to put it, how far off, how long, and what keeps away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.bond.advice import LAMP_CAUTIONS
from panelwright.bond.lamp_words import away, lines
from panelwright.cli.text import bullets, heading
from panelwright.cli.text import page as laid_out

if TYPE_CHECKING:
    from panelwright.bond.lamp_answer import LampAnswer
    from panelwright.quantities import Units


def page(answer: LampAnswer, units: Units) -> str:
    """Where to put the lamp, as a page of text.

    Parameters
    ----------
    answer : LampAnswer
    units : Units

    Returns
    -------
    str
    """
    return laid_out(
        heading(f"Where to put the lamp: joint {answer.joint}").lstrip("\n"),
        bullets(lines(answer, units)),
        heading("Keep away from it, or shield"),
        bullets(away(answer, units)),
        bullets(LAMP_CAUTIONS),
        bullets(answer.notes) if answer.notes else "",
        bullets(
            (
                (
                    f"{answer.advice.looked_at} ways compared for {answer.lamp}, surface "
                    f"{answer.surface}. Follow the data sheet and the maker's procedure."
                ),
            )
        ),
    )
