"""Everything that a page may use, made once."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from panelwright.web.answers import Answers
from panelwright.web.asking import Asking
from panelwright.web.learnt import Learnt
from panelwright.web.live import Live, Message
from panelwright.web.settings import Settings, Worker
from panelwright.web.summaries import Summaries
from panelwright.web.turns import Turns
from panelwright.web.work import Hands, Job, ProcessHands, ThreadHands, Work

if TYPE_CHECKING:
    from jinja2 import Environment

    from panelwright.facts.problem import Question
    from panelwright.store import Store
    from panelwright.web.page import Page


@dataclass
class Desk:
    """The store, the answers, the stream and the pages.

    Attributes
    ----------
    thinks : bool
        False where pages and answers are made by another process.
    reports : list of bytes
        What browsers reported against the content security policy, newest last.
    """

    settings: Settings
    store: Store
    pages: tuple[Page, ...]
    templates: Environment
    thinks: bool = True
    reports: list[bytes] = field(default_factory=list)

    def __post_init__(self) -> None:
        clock = self.settings.clock
        apart = self.thinks and self.settings.worker is Worker.PROCESS
        self.asking = Asking(Asking.processes() if apart else 0)
        self.turns = Turns(Asking.processes(), self._answered) if apart else None
        self.answers = Answers(self.store, clock, self.asking, self.turns)
        self.learnt = Learnt(self.store, self.answers)
        self.live = Live(self.store, poll_s=self.settings.poll_s, clock=clock)
        self.work = Work(self._hands, self._finished)
        self.answers.work = self.work
        self.summaries = Summaries(self.answers, clock, self._listed)
        if self.thinks:
            self.live.on_facts.append(self.summaries.follow)

    def _hands(self) -> Hands:
        return ProcessHands() if self.settings.worker is Worker.PROCESS else ThreadHands()

    def _finished(self, job: Job, value: object) -> None:
        repair = self.answers.finished(job, value)
        if repair is not None:
            self.summaries.follow((repair,))
            self.live.tell(Message("answer", {"repair": repair}))

    def _answered(self, slot: Hashable) -> None:
        """Tell of a room's answer that some page has not waited for."""
        repair, _ = cast("tuple[str, Question]", slot)
        self.summaries.follow((repair,))
        self.live.tell(Message("answer", {"repair": repair}))

    def _listed(self, repair: str) -> None:
        self.live.tell(Message("listed", {"repair": repair}))

    async def start(self) -> None:
        """Begin to follow the store and to work."""
        if self.thinks:
            self.asking.start()
            if self.turns is not None:
                self.turns.start()
            self.work.start()
            self.summaries.start()
        await self.live.start()

    async def close(self) -> None:
        """End streams and work, close the store."""
        await self.live.close()
        self.summaries.close()
        if self.turns is not None:
            self.turns.close()
        self.work.close()
        self.asking.close()
        self.store.close()
