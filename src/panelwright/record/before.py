"""Readings before cutting: what they are, and the step of the plan at which they are taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.record.answer import Unanswered

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.next_answer import BeforeCut
    from panelwright.plan.answer import PlannedStep

    WorkOut = Callable[[Repair], BeforeCut | None]

STEPS = ("read-old", "read-body")
"""The library's steps at which they are taken: the first of these that a plan has."""


def before_of(
    repair: Repair, fit: FitAnswer | Unanswered, work_out: WorkOut | None = None
) -> BeforeCut | None:
    """Give the readings before cutting, also where nothing is measured yet.

    Parameters
    ----------
    repair : Repair
    fit : FitAnswer or Unanswered
        Its answer, in which they stand already; it may not know yet that a part came off.
    work_out : callable or None
        Works them out where they do not stand there; None: as the fit does.

    Returns
    -------
    BeforeCut or None
        None once every part that comes off is off, or where no point is to be judged.
    """
    # Here and not above: the fit brings scipy in.
    from panelwright.fit.before_cut import before_cut  # noqa: PLC0415
    from panelwright.fit.settings import settings_of  # noqa: PLC0415
    from panelwright.fit.still_on import parts_still_on  # noqa: PLC0415

    still_on = parts_still_on(repair, settings_of(repair))
    if not still_on:
        return None
    if not isinstance(fit, Unanswered):
        found = fit.before_cut
        if found is None or found.parts == still_on:
            return found
    return (work_out or before_cut)(repair)


def step_before(steps: Iterable[PlannedStep]) -> str:
    """Give the id of the step at which they are taken; empty where it is done or there is none."""
    open_ = [step for step in steps if not step.done]
    for base in STEPS:
        for step in open_:
            if step.base == base:
                return step.id
    return ""
