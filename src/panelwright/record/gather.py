"""Ask every room about a repair, and keep what stands in the way as words."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from panelwright.errors import Unanswerable
from panelwright.record.answer import Answers, Unanswered

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from panelwright.facts.repair import Repair

T = TypeVar("T")


def _asked(question: Callable[[], T]) -> T | Unanswered:
    try:
        return question()
    except Unanswerable as error:
        return Unanswered(error.why)


def gather(repair: Repair, *, as_of: datetime | None = None) -> Answers:
    """What every room says of one repair.

    Parameters
    ----------
    repair : Repair
    as_of : datetime or None
        The time from which the plan starts; None: as the facts stand.
    """
    from panelwright import bond, fit, joints, plan, quiet, teardown  # noqa: PLC0415

    return Answers(
        teardown=_asked(lambda: teardown.answer(repair)),
        joints=_asked(lambda: joints.answer(repair)),
        fit=_asked(lambda: fit.answer(repair)),
        bond=_asked(lambda: bond.answer(repair)),
        quiet=_asked(lambda: quiet.answer(repair)),
        plan=_asked(lambda: plan.answer([repair], as_of=as_of)),
    )
