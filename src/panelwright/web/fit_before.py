"""Readings before cutting, on the pages on which their time is said."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from panelwright.fit.before_cut import before_cut
from panelwright.fit.before_words import before_said, lost_words
from panelwright.record import before

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.next_answer import BeforeCut
    from panelwright.record.answer import Unanswered
    from panelwright.web.visit import There

MOST_KEPT = 16
LIST = "fit/take?stage=before"


@dataclass(frozen=True)
class BeforeView:
    """What to read while the old part is still on.

    Attributes
    ----------
    words : str
        How many readings, how long they take, and for what.
    lost : str
        What is lost without them.
    each : tuple of str
        Every reading, with what is lost without it.
    path : str
        Address of their list.
    """

    words: str
    lost: str
    each: tuple[str, ...]
    path: str


def before_of(repair: Repair, fit: FitAnswer | Unanswered) -> BeforeCut | None:
    """Give the readings before cutting; where nothing is measured yet they are kept, too."""
    return before.before_of(repair, fit, _kept)


@lru_cache(maxsize=MOST_KEPT)
def _kept(repair: Repair) -> BeforeCut | None:
    return before_cut(repair)


def before_view(there: There) -> BeforeView | None:
    """Give what a page says of them; None once a part is off, or where nothing is to be read."""
    repair = there.known.repair
    found = before_of(repair, there.answers.fit(there.known))
    if found is None or not found.readings:
        return None
    lost = lost_words(found)
    return BeforeView(
        f"{found.words}.",
        f"{lost[:1].upper()}{lost[1:]}." if lost else "",
        before_said(found)[1:],
        there.path(LIST),
    )
