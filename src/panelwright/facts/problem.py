"""A problem in words: where it is and what it is."""

from __future__ import annotations

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
    """

    where: str
    what: str
