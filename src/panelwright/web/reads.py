"""What the first page and the list say of a repair: plain values for templates."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright.facts.problem import Question
from panelwright.plan.answer import Status, Who
from panelwright.quantities import show_minutes
from panelwright.record import Unanswered
from panelwright.web import clocks
from panelwright.web.shown import Clock

if TYPE_CHECKING:
    from panelwright.plan.answer import PlanAnswer, PlannedStep, Ready
    from panelwright.web.answers import Answers, Planned
    from panelwright.web.known import Known

MOST_NEXT = 3

_MEANWHILE = "Make the vehicle safe by the maker's procedure."
"""What comes first whatever the plan will say; high voltage and restraints included."""

WORDS = {
    Question.TEARDOWN: ("What comes off", "findings"),
    Question.JOINTS: ("How the joints are put back", "joints"),
    Question.FIT: ("Where the panel sits", "fit"),
    Question.BOND: ("When it holds", "bond"),
    Question.QUIET: ("Whether it will drum", "quiet"),
    Question.PLAN: ("When it is done", "plan"),
}
"""What each question is called on pages, and the page on which it is answered."""


@dataclass(frozen=True)
class Open:
    """A question without an answer: what it is, why, and the page where it is mended."""

    what: str
    why: tuple[str, ...]
    page: str

    @property
    def enter(self) -> str:
        """Give the words of the button that leads there."""
        return f"Go to {self.page.capitalize()}"


@dataclass(frozen=True)
class Now:
    """The repair's first page.

    Attributes
    ----------
    instruction : str
        What to do next.
    reason : str
        Why, or by when.
    step : PlannedStep or None
        The step it is, to be marked as done.
    later : tuple of PlannedStep
        What comes after it.
    clocks : tuple of Clock
    open : tuple of Open
    ready : Ready or None
        When paint gets it.
    making : bool
        True while a newer plan is being made.
    done : int
        Steps done, of `steps`.
    """

    instruction: str
    reason: str
    step: PlannedStep | None
    later: tuple[PlannedStep, ...]
    clocks: tuple[Clock, ...]
    open: tuple[Open, ...]
    ready: Ready | None
    making: bool
    done: int
    steps: int


def now_of(answers: Answers, known: Known, now: datetime) -> Now:
    """Give what the repair's first page says."""
    planned = with_signed(answers.plan(known), known)
    plan = planned.answer
    running = running_of(answers, known, now)
    doable = _doable(plan)
    step = doable[0] if doable else None
    words, reason = _instruction(known, planned, running, step)
    steps = () if plan is None or isinstance(plan, Unanswered) else plan.steps
    return Now(
        instruction=words,
        reason=reason,
        step=step,
        later=doable[1 : 1 + MOST_NEXT],
        clocks=running,
        open=_open(answers, known, plan),
        ready=ready_of(plan),
        making=not planned.current,
        done=sum(one.done for one in steps),
        steps=len(steps),
    )


def with_signed(planned: Planned, known: Known) -> Planned:
    """Give a plan that knows what was signed since it was made: no step is asked for twice."""
    plan = planned.answer
    if planned.current or plan is None or isinstance(plan, Unanswered):
        return planned
    signed = {event.step for event in known.repair.events if event.kind == "done"}
    steps = tuple(
        replace(step, done=True) if step.id in signed and not step.done else step
        for step in plan.steps
    )
    return replace(planned, answer=replace(plan, steps=steps))


def running_of(answers: Answers, known: Known, now: datetime) -> tuple[Clock, ...]:
    """Give the repair's running clocks; no room is asked where no clock can run."""
    if not any(event.joint or event.part for event in known.repair.events):
        return ()
    names = {joint.id: joint.label for joint in known.repair.joints}
    return clocks.running(answers.bond(known), names, now)


def ready_of(plan: PlanAnswer | Unanswered | None) -> Ready | None:
    """Give when paint gets it, where that is known."""
    if plan is None or isinstance(plan, Unanswered) or not plan.ready_for_paint:
        return None
    return plan.ready_for_paint[0]


def _doable(plan: PlanAnswer | Unanswered | None) -> tuple[PlannedStep, ...]:
    """Give the open steps that somebody works on, in order of their start."""
    if plan is None or isinstance(plan, Unanswered):
        return ()
    waiting = {Who.NOBODY, Who.LAMP}
    return tuple(step for step in plan.steps if not step.done and step.by not in waiting)


def _instruction(
    known: Known, planned: Planned, running: tuple[Clock, ...], step: PlannedStep | None
) -> tuple[str, str]:
    if not known.repair.parts:
        return "Say what is damaged.", "No part is entered yet: every answer begins with them."
    plan = planned.answer
    if plan is None:
        begun = bool(known.repair.events or known.repair.readings)
        words = "One moment: the plan is being made." if begun else _MEANWHILE
        return words, "It comes by itself." if begun else "The plan comes by itself meanwhile."
    if isinstance(plan, Unanswered):
        return "The next step cannot be said yet.", plan.why[0] if plan.why else ""
    if step is not None:
        return f"{step.name[:1].upper()}{step.name[1:]}.", _because(plan, step, running)
    return _without_step(plan)


def _without_step(plan: PlanAnswer) -> tuple[str, str]:
    if plan.status is Status.INFEASIBLE:
        return "There is no plan that keeps all the rules.", " ".join(plan.why)
    if any(not one.done for one in plan.steps):
        return "Wait.", "Nothing can be done before the time that is waited for."
    return "Every step is done.", "Hand the repair over with its job file."


def _because(plan: PlanAnswer, step: PlannedStep, running: tuple[Clock, ...]) -> str:
    """Say why this step is the next."""
    length = show_minutes(step.work_minutes)
    if any(clock.limit for clock in running):
        return f"A clock is running, see below. About {length}."
    if step.id in plan.critical:
        return f"It sets the ready-for-paint time. About {length}."
    if running:
        return f"It can be done while the adhesive sets. About {length}."
    return f"What comes before it is done. About {length}."


def _open(answers: Answers, known: Known, plan: PlanAnswer | Unanswered | None) -> tuple[Open, ...]:
    found: dict[Question, object] = {
        question: getattr(answers, question.value)(known) for question in WORDS_OF_ROOMS
    }
    found[Question.PLAN] = plan
    return tuple(
        Open(WORDS[question][0], answer.why, WORDS[question][1])
        for question, answer in found.items()
        if isinstance(answer, Unanswered)
    )


WORDS_OF_ROOMS = tuple(question for question in WORDS if question is not Question.PLAN)
