"""A problem in words: where it is and what it is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum


class Question(StrEnum):
    """The questions that a problem can stand in the way of."""

    TEARDOWN = "teardown"
    JOINTS = "joints"
    FIT = "fit"
    BOND = "bond"
    QUIET = "quiet"
    PLAN = "plan"
    RECORD = "record"


ALL_QUESTIONS = frozenset(Question)


@dataclass(frozen=True, order=True)
class Problem:
    """One problem of a repair.

    Parameters
    ----------
    where : str
        Table path such as ``reading[3].from`` or ``part outer``.
    what : str
        The value, what was expected and the next step.
    hard : bool
        True where the table cannot be used at all; a question that needs it is refused until it is
        mended. False where the question leaves that entry out and answers the rest.
    """

    where: str
    what: str
    hard: bool = True

    @property
    def blocks(self) -> frozenset[Question]:
        """The questions that need what is wrong."""
        if not self.hard:
            return frozenset()
        table = re.split(r"[.\[ ]", self.where, maxsplit=1)[0]
        key = f"{table}.hides" if self.where.endswith(".hides") else table
        return _NEEDED_BY.get(key, ALL_QUESTIONS)


_FIT = frozenset({Question.FIT})
_NEEDED_BY: dict[str, frozenset[Question]] = {
    "part.hides": frozenset({Question.TEARDOWN, Question.PLAN}),
    "joint": frozenset({Question.TEARDOWN, Question.JOINTS, Question.BOND, Question.PLAN}),
    "point": _FIT,
    "tool": _FIT,
    "reading": _FIT,
    "station": _FIT,
    "contact": _FIT,
    "locator": _FIT,
    "blocked": _FIT,
    "sister": _FIT,
    "adjuster": _FIT,
    "adhesive": frozenset({Question.BOND, Question.PLAN}),
    "rivet": frozenset({Question.JOINTS, Question.PLAN}),
    "lamp": frozenset({Question.BOND, Question.PLAN}),
    "heating": frozenset({Question.BOND, Question.PLAN}),
    "temperature": frozenset({Question.BOND}),
    "event": frozenset({Question.BOND, Question.FIT, Question.PLAN}),
    "pad": frozenset({Question.QUIET, Question.PLAN}),
    "step": frozenset({Question.PLAN}),
    "shop": frozenset({Question.PLAN}),
    "finding": frozenset({Question.TEARDOWN, Question.PLAN}),
    "photo": frozenset({Question.RECORD}),
}
"""Questions by the table of the repair file; a table not named here is needed by all."""
