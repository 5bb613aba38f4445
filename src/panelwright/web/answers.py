"""What the rooms say of the stored repairs, kept by the input of each room."""

from __future__ import annotations

import copy
from collections.abc import Callable, Hashable, Mapping
from concurrent.futures import CancelledError
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

from panelwright import bond, fit, joints, plan, quiet, teardown
from panelwright.errors import Unanswerable
from panelwright.facts.fold import fold
from panelwright.facts.problem import Problem, Question
from panelwright.facts.repair import Repair
from panelwright.record import Unanswered
from panelwright.web.asking import Asking
from panelwright.web.kept import Kept
from panelwright.web.known import READS, Given, Known, holds_all_of
from panelwright.web.turns import Turns
from panelwright.web.worded import reasons
from panelwright.web.work import Failed, Job, Work

if TYPE_CHECKING:
    from panelwright.bond.answer import BondAnswer
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.joints.answer import JointsAnswer
    from panelwright.plan.answer import PlanAnswer
    from panelwright.quiet.answer import Answer as QuietAnswer
    from panelwright.store import Store
    from panelwright.teardown.answer import Answer as TeardownAnswer

T = TypeVar("T")

MOST_REPAIRS = 64
MOST_ANSWERS = 256
MOST_LONG = 16
PLAN_EVERY = timedelta(minutes=15)
"""A plan starts from the last full quarter of an hour, so that it is not made anew each minute."""

PATIENCE_S = 1.0
"""So long a page waits for a room's newest answer before it shows the last one and says so."""
MOST_AHEAD = 2
"""Where more questions stand before it a page does not wait at all."""


@dataclass(frozen=True)
class Planned:
    """The plan as far as it is made.

    Attributes
    ----------
    answer : PlanAnswer, Unanswered or None
        The newest there is; None where the first is still being made.
    current : bool
        False where a newer one is being made.
    """

    answer: PlanAnswer | Unanswered | None
    current: bool


@dataclass(frozen=True)
class Long:
    """Any other long work as far as it is done.

    Attributes
    ----------
    value : object
        What the function returned, `Unanswered` or `Failed`; None while the first is being made.
    current : bool
        False where a newer one is being made.
    """

    value: object
    current: bool


class Answers:
    """Asks the rooms, once for each input.

    Attributes
    ----------
    patience_s : float or None
        How long a page waits for a newest answer; None waits until it is there.
    late : set of Question
        Of the hurried: which rooms' answers are of before the newest facts.
    """

    def __init__(
        self,
        store: Store,
        clock: Callable[[], datetime],
        asking: Asking | None = None,
        turns: Turns | None = None,
    ) -> None:
        self._store = store
        self._asking = asking or Asking(0)
        self._turns = turns
        self._clock = clock
        self.patience_s: float | None = None
        self._waits: Callable[[], None] = lambda: None
        self.late: set[Question] = set()
        self._last: Kept[tuple[str, Question], tuple[Given, object]] = Kept(MOST_ANSWERS)
        self._known: Kept[tuple[str, str], Known] = Kept(MOST_REPAIRS)
        self.rooms: Mapping[Question, Kept[Given, object]] = {
            question: Kept(MOST_ANSWERS) for question in READS
        }
        self.plans: Kept[Hashable, PlanAnswer | Unanswered] = Kept(MOST_ANSWERS)
        self._last_plan: Kept[str, PlanAnswer | Unanswered] = Kept(MOST_ANSWERS)
        self._long: Kept[Hashable, object] = Kept(MOST_LONG)
        self.work: Work | None = None

    def hurried(
        self, patience_s: float = PATIENCE_S, waits: Callable[[], None] = lambda: None
    ) -> Answers:
        """Give the same for one page, which takes last answers rather than wait for long.

        Parameters
        ----------
        patience_s : float
            How long it waits.
        waits : callable
            Is told before it waits.
        """
        mine = copy.copy(self)
        mine.patience_s = patience_s
        mine._waits = waits  # noqa: SLF001 - the same class
        mine.late = set()
        return mine

    def patient(self) -> Answers:
        """Give the same for work that rests on the newest facts."""
        mine = copy.copy(self)
        mine.patience_s = None
        return mine

    def known(self, name: str) -> Known:
        """Give a repair as its log tells it now; UnknownRepairError where there is none."""
        log = self._store.log(name)
        return self._known.get((name, log.head), lambda: Known(name, log, fold(log)))

    def ask(self, known: Known, question: Question, room: Callable[[Repair], T]) -> T | Unanswered:
        """Give a room's answer, or in words why there is none."""
        wrong = known.in_the_way(question)
        if wrong:
            return Unanswered(tuple(f"Mend first: {p.where}: {p.what}" for p in wrong))
        given = known.given(question)
        slot, kept = (known.name, question), self.rooms[question]

        def newest() -> object:
            answer = kept.get(given, lambda: self._asking.ask(_asked, room, given.repair))
            self._last.put(slot, (given, answer))
            return answer

        last = self._last.peek(slot)
        if self.patience_s is None or self._turns is None or last is None:
            return newest()  # type: ignore[return-value]
        answer = kept.peek(given)
        if answer is None and holds_all_of(given.repair, last[0].repair):
            answer = self._in_turn(slot, given, newest)
            if answer is None:
                self.late.add(question)
                answer = last[1]
        return newest() if answer is None else answer  # type: ignore[return-value]

    def _in_turn(
        self, slot: tuple[str, Question], given: Given, newest: Callable[[], object]
    ) -> object:
        """Have a room asked and wait a moment for its answer; None where it takes longer."""
        assert self._turns is not None  # noqa: S101 - asked for before
        turn = self._turns.put(slot, given, newest)
        patience_s = self.patience_s if turn.ahead <= MOST_AHEAD else 0.0
        if patience_s:
            self._waits()
        try:
            turn.done.result(patience_s)
        except (TimeoutError, CancelledError):
            return None
        return self.rooms[slot[1]].peek(given)

    def teardown(self, known: Known) -> TeardownAnswer | Unanswered:
        """What must come off."""
        return self.ask(known, Question.TEARDOWN, teardown.answer)

    def joints(self, known: Known) -> JointsAnswer | Unanswered:
        """How each joint is put back."""
        return self.ask(known, Question.JOINTS, joints.answer)

    def fit(self, known: Known) -> FitAnswer | Unanswered:
        """Where the panel sits."""
        return self.ask(known, Question.FIT, fit.answer)

    def bond(self, known: Known) -> BondAnswer | Unanswered:
        """When it holds."""
        return self.ask(known, Question.BOND, bond.answer)

    def quiet(self, known: Known) -> QuietAnswer | Unanswered:
        """Whether it drums."""
        return self.ask(known, Question.QUIET, quiet.answer)

    def gathered(self, known: Known) -> plan.Answers:
        """Give every room's answer as the plan takes it."""
        found: dict[str, object] = {}
        problems: list[Problem] = []
        for question in READS:
            answer = getattr(self, question.value)(known)
            if isinstance(answer, Unanswered):
                words = f"{' '.join(answer.why)} The plan is made without it."
                problems.append(Problem(question.value, words, hard=False))
            found[question.value] = None if isinstance(answer, Unanswered) else answer
        return plan.Answers(
            repair=known.repair,
            problems=tuple(problems),
            **found,  # type: ignore[arg-type]
        )

    def plan_time(self) -> datetime:
        """Give the time from which plans start."""
        now = self._clock()
        return now - timedelta(seconds=now.timestamp() % PLAN_EVERY.total_seconds())

    def plan_key(self, known: Known) -> Hashable:
        """Give what a plan depends on."""
        return ("plan", known.to_plan, self.plan_time())

    def plan(self, known: Known) -> Planned:
        """Give the plan, or the last one while a newer is being made."""
        wrong = known.in_the_way(Question.PLAN)
        if wrong:
            why = tuple(f"Mend first: {p.where}: {p.what}" for p in wrong)
            return Planned(Unanswered(why), current=True)
        key = self.plan_key(known)
        answer = self.plans.peek(key)
        if answer is not None:
            return Planned(answer, current=True)
        if self.work is not None and not self.work.is_asked(key):
            start, rooms = self.plan_time(), self.patient()
            self.work.ask(
                Job(
                    ("plan", known.name),
                    key,
                    plan.plan_of,
                    lambda: ([rooms.gathered(known)], start),
                )
            )
        return Planned(self._last_plan.peek(known.name), current=False)

    def long(
        self,
        known: Known,
        what: str,
        key: Hashable,
        function: Callable[..., object],
        *arguments: object,
    ) -> Long:
        """Give the outcome of long work about a repair, and have it done where it is not.

        Parameters
        ----------
        known : Known
        what : str
            Names the work: a newer one of this repair and name cancels the older.
        key : hashable
            All that the outcome depends on.
        function : callable
            Of a module, so that another process finds it.
        *arguments : object
            That can be pickled.
        """
        slot = (what, known.name)
        whole = (what, key)
        found = self._long.peek(whole)
        if found is not None:
            return Long(found, current=True)
        if self.work is not None and not self.work.is_asked(whole):
            self.work.ask(Job(slot, whole, function, arguments))
        return Long(self._long.peek((what, known.name, "last")), current=False)

    def finished(self, job: Job, value: object) -> str | None:
        """Keep the outcome of long work; give the repair that it is about."""
        match job.slot:
            case ("plan", str(name)):
                if isinstance(value, Failed):
                    value = Unanswered(("The plan could not be made: a fault of the program.",))
                self.plans.put(job.key, value)  # type: ignore[arg-type]
                self._last_plan.put(name, value)  # type: ignore[arg-type]
                return name
            case (str(what), str(name)):
                self._long.put(job.key, value)
                self._long.put((what, name, "last"), value)
                return name
            case _:
                return None


def _asked(room: Callable[[Repair], T], repair: Repair) -> T | Unanswered:
    try:
        return room(repair)
    except Unanswerable as error:
        return Unanswered(reasons(repair, error.why))
