"""What the list says of each repair, kept up to date beside the requests.

The list is answered from memory with one question to the database, however many repairs and facts
there are; a repair that is not read yet says so, and its line arrives by the stream.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Condition, Thread
from typing import TYPE_CHECKING

from panelwright.errors import PanelwrightError
from panelwright.record.when import When
from panelwright.web import reads

if TYPE_CHECKING:
    from panelwright.plan.answer import Ready
    from panelwright.store import Listed
    from panelwright.web.answers import Answers
    from panelwright.web.shown import Clock

log = logging.getLogger(__name__)

LOOKED_AT = timedelta(minutes=10)
"""For so long after somebody has looked at the list its lines are kept up to date."""


@dataclass(frozen=True)
class Summary:
    """What a repair's line says."""

    head: str
    label: str
    instruction: str
    clocks: tuple[Clock, ...]
    ready: Ready | None
    making: bool
    invented: bool
    when: When


@dataclass(frozen=True)
class Row:
    """A line of the list; without a summary while the repair is being read."""

    listed: Listed
    summary: Summary | None


class Summaries:
    """Makes the lines in a thread of its own; each is told once it is made."""

    def __init__(
        self, answers: Answers, clock: Callable[[], datetime], told: Callable[[str], None]
    ) -> None:
        self._answers = answers
        self._clock = clock
        self._told = told
        self._looked: datetime | None = None
        self._made: dict[str, Summary] = {}
        self._asked: dict[str, None] = {}
        self._changed = Condition()
        self._closing = self._busy = False
        self._thread = Thread(target=self._run, name="summaries", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def close(self) -> None:
        """End."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        if self._thread.is_alive():
            self._thread.join(5.0)

    def renew(self, names: Iterable[str]) -> None:
        """Make these lines anew."""
        with self._changed:
            self._asked.update(dict.fromkeys(names))
            self._changed.notify_all()

    def follow(self, names: Iterable[str]) -> None:
        """Make these lines anew where somebody looks at the list; for nobody none is made."""
        looked = self._looked
        if looked is not None and self._clock() - looked < LOOKED_AT:
            self.renew(names)

    def rows(self, listed: Sequence[Listed]) -> list[Row]:
        """Give the lines as far as they are made; the most recently worked on first."""
        self._looked = self._clock()
        self.renew(
            one.name
            for one in listed
            if one.name not in self._made or self._made[one.name].head != one.head
        )
        ordered = sorted(listed, key=lambda one: one.last_seq, reverse=True)
        return [Row(one, self._made.get(one.name)) for one in ordered]

    def settle(self, wait_s: float) -> bool:
        """Wait until all lines are made, so long at most; tell whether they are."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._asked and not self._busy, wait_s)

    def _run(self) -> None:
        while (name := self._next()) is not None:
            try:
                self._made[name] = self._summary(name)
            except PanelwrightError as error:
                log.warning("the line of %s cannot be made: %s", name, error)
                continue
            except Exception:
                log.exception("the line of %s cannot be made", name)
                continue
            self._told(name)

    def _next(self) -> str | None:
        with self._changed:
            self._busy = False
            self._changed.notify_all()
            while not self._asked and not self._closing:
                self._changed.wait()
            if self._closing:
                return None
            name = next(iter(self._asked))
            del self._asked[name]
            self._busy = True
            return name

    def _summary(self, name: str) -> Summary:
        known = self._answers.known(name)
        view = reads.now_of(self._answers.hurried(0.0), known, self._clock())
        return Summary(
            head=known.log.head,
            label=known.repair.vehicle.label,
            instruction=view.instruction,
            clocks=view.clocks,
            ready=view.ready,
            making=view.making,
            invented=known.repair.repair.invented,
            when=When.of(known.repair.shop.zone),
        )
