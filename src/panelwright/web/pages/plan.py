"""Plan: what is next, the days, waits and hold points, and when paint gets it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.plan.answer import PlanAnswer
from panelwright.record import Unanswered
from panelwright.record.before import step_before
from panelwright.sources import merge
from panelwright.web import charts, plan_view
from panelwright.web.fit_before import before_view
from panelwright.web.page import Page
from panelwright.web.reads import ready_of, with_signed
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There

router = APIRouter()
PAGE = Page("plan", "Plan", 80, router)


@router.get("/repairs/{name}/plan")
def plan(there: AtRepair) -> Response:
    """Show the plan, or the last one while a newer is being made."""
    planned = with_signed(there.answers.plan(there.known), there.known)
    answer = planned.answer if isinstance(planned.answer, PlanAnswer) else None
    now = there.desk.settings.clock()
    shown = plan_view.rows(answer, now, there.when) if answer else ()
    chart = _chart(there, answer) if answer and planned.current else charts.NONE
    done = sum(step.done for step in answer.steps) if answer else 0
    return show(
        there,
        "plan.html",
        heading="Plan",
        instruction=_instruction(planned.answer, shown)
        if there.known.repair.parts
        else ("Say what is damaged first.", "It is entered on the page Findings.", ""),
        plan=answer,
        making=not planned.current,
        unanswered=planned.answer.why if isinstance(planned.answer, Unanswered) else (),
        ready=ready_of(answer),
        promised=there.known.repair.repair.promised,
        following=plan_view.following(shown),
        holds=plan_view.holds(shown),
        days=plan_view.days(shown, there.when),
        done=[step for step in answer.steps if step.done] if answer else [],
        total=len(answer.steps) if answer else 0,
        count=done,
        status=plan_view.STATUS[answer.status] if answer else None,
        gap=plan_view.gap(answer) if answer else "",
        chart=chart,
        sources=merge(answer.sources) if answer else (),
        before=before_view(there),
        before_at=step_before(answer.steps) if answer else "",
        path=there.path("plan"),
    )


def _chart(there: There, answer: PlanAnswer) -> charts.Chart:
    return charts.of(there.answers.long(there.known, "plan chart", answer, charts.plan_svg, answer))


def _instruction(
    answer: PlanAnswer | Unanswered | None, shown: tuple[plan_view.Row, ...]
) -> tuple[str, str, str]:
    if answer is None:
        return "One moment: the plan is being made.", "It comes by itself.", ""
    if isinstance(answer, Unanswered):
        return "There is no plan yet.", answer.why[0] if answer.why else "", ""
    return plan_view.instruction(answer, shown)
