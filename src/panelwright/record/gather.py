"""Ask every room about a repair, and keep what stands in the way as words."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from panelwright import bond, fit, joints, plan, quiet, teardown
from panelwright.errors import Unanswerable
from panelwright.facts.problem import Question
from panelwright.plan.supplement import Side, Supplement
from panelwright.plan.supplement import supplement as difference
from panelwright.record.answer import Answers, Unanswered

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from panelwright.facts.repair import Repair

T = TypeVar("T")


def _asked(repair: Repair, question: Question, ask: Callable[[], T]) -> T | Unanswered:
    """A room's answer; none where the repair file is broken at a place that the room needs."""
    broken = [problem for problem in repair.problems if question in problem.blocks]
    if broken:
        return Unanswered(tuple(f"{problem.where}: {problem.what}" for problem in broken))
    try:
        return ask()
    except Unanswerable as error:
        return Unanswered(error.why)


def _known(answer: T | Unanswered) -> T | None:
    return None if isinstance(answer, Unanswered) else answer


def gather(repair: Repair, *, as_of: datetime | None = None) -> Answers:
    """What every room says of one repair.

    Parameters
    ----------
    repair : Repair
    as_of : datetime or None
        The time from which the plan starts; None: as the facts stand.
    """
    apart = _asked(repair, Question.TEARDOWN, lambda: teardown.answer(repair))
    made = _asked(repair, Question.JOINTS, lambda: joints.answer(repair))
    place = _asked(repair, Question.FIT, lambda: fit.answer(repair))
    cure = _asked(repair, Question.BOND, lambda: bond.answer(repair))
    pads = _asked(repair, Question.QUIET, lambda: quiet.answer(repair))
    known = plan.Answers(
        repair, _known(apart), _known(made), _known(place), _known(cure), _known(pads)
    )
    course = _asked(repair, Question.PLAN, lambda: plan.plan_of([known], as_of))
    return Answers(apart, made, place, cure, pads, course)


def supplement(
    earlier: Repair, earlier_answers: Answers, repair: Repair, answers: Answers
) -> Supplement:
    """What more damage changed between two states of one repair.

    Raises
    ------
    Unanswerable
        Where one of the two has no plan.
    """
    before, after = earlier_answers.plan, answers.plan
    if isinstance(before, Unanswered):
        raise Unanswerable([f"The repair before has no plan: {why}" for why in before.why])
    if isinstance(after, Unanswered):
        raise Unanswerable([f"There is no plan to compare with: {why}" for why in after.why])
    return difference(Side(earlier, before), Side(repair, after))
