"""Ask the question rooms about one repair, and keep what they cannot answer as problems."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from panelwright import bond, fit, joints, quiet, teardown
from panelwright.errors import Unanswerable
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Callable

    from panelwright.bond.answer import BondAnswer
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.joints.answer import JointsAnswer
    from panelwright.quiet.answer import Answer as QuietAnswer
    from panelwright.teardown.answer import Answer as TeardownAnswer

T = TypeVar("T")


@dataclass(frozen=True)
class Answers:
    """A repair and what the rooms say of it; None where a room has no answer."""

    repair: Repair
    teardown: TeardownAnswer | None
    joints: JointsAnswer | None
    fit: FitAnswer | None
    bond: BondAnswer | None
    quiet: QuietAnswer | None
    problems: tuple[Problem, ...] = ()


def gather(repair: Repair) -> Answers:
    """Every room's answer for one repair.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    Answers
        With a problem for each room that was given facts and cannot answer; the plan then says
        what it took instead.
    """
    problems: list[Problem] = []
    given = {
        "teardown": True,
        "joints": bool(repair.joints),
        "fit": bool(repair.readings),
        "bond": bool(repair.joints),
        "quiet": bool(repair.pads),
    }

    def ask(room: str, question: Callable[[Repair], T]) -> T | None:
        try:
            return question(repair)
        except Unanswerable as error:
            if given[room]:
                problems.append(Problem(room, f"{error} The plan is made without it.", hard=False))
            return None

    return Answers(
        repair=repair,
        teardown=ask("teardown", teardown.answer),
        joints=ask("joints", joints.answer),
        fit=ask("fit", fit.answer),
        bond=ask("bond", bond.answer),
        quiet=ask("quiet", quiet.answer),
        problems=tuple(problems),
    )
