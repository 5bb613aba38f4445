"""The command `bond`: when it holds, and whether closing fits in the work time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright import bond, joints, teardown
from panelwright.bond.may_do import begun, may_do
from panelwright.bond.published import as_json, may_json
from panelwright.cli.ask import say
from panelwright.cli.load import load_for
from panelwright.cli.pages.bond import page
from panelwright.errors import Unanswerable
from panelwright.facts.problem import Question
from panelwright.plan import Answers
from panelwright.plan.closing import closings
from panelwright.plan.closing_words import as_json as closing_json
from panelwright.plan.pace import paces, runs_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from panelwright.bond.answer import BondAnswer
    from panelwright.facts.repair import Repair
    from panelwright.plan.closing_answer import Closing


def answered(file: str, as_of: datetime | None, *, as_json_: bool, units: str) -> int:
    """Say it as a page or as JSON; what depends on the time of day only with `as_of`."""
    repair = load_for(file, Question.BOND)
    found = bond.answer(repair)
    closing = _closings(repair, found, as_of)
    allowed = may_do(repair, found, begun(found), as_of) if as_of is not None else ()

    def content() -> dict[str, object]:
        more = {"closings": [closing_json(one) for one in closing]}
        return {**as_json(found), **more, "may_do": may_json(allowed)}

    return say(
        content,
        lambda shown: page(found, shown, closing, allowed),
        [repair],
        Question.BOND,
        as_json=as_json_,
        units=units,
    )


def _closings(repair: Repair, found: BondAnswer, as_of: datetime | None) -> tuple[Closing, ...]:
    def known(question: Question, ask: Callable[[Repair], object]) -> object:
        if any(question in problem.blocks for problem in repair.problems):
            return None
        try:
            return ask(repair)
        except Unanswerable:
            return None

    answers = Answers(
        repair,
        known(Question.TEARDOWN, teardown.answer),  # type: ignore[arg-type]
        known(Question.JOINTS, joints.answer),  # type: ignore[arg-type]
        None,
        found,
        None,
    )
    return closings(answers, paces(runs_of(repair)), as_of)
