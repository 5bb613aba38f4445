"""What the page Job file shows, and how the file is made in the worker process."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from panelwright.facts.fold import fold
from panelwright.facts.log import Log
from panelwright.quantities import Units
from panelwright.record import Options, Packet, Paper, Unanswered
from panelwright.web import change
from panelwright.web.known import Known

if TYPE_CHECKING:
    from panelwright.facts.models.bonding import Event
    from panelwright.facts.repair import Repair
    from panelwright.plan.answer import PlanAnswer, PlannedStep
    from panelwright.web.visit import There

PAPERS = ((Paper.A4, "A4"), (Paper.LETTER, "Letter"))
YES = "yes"
SHORTEST_HEAD = 12


@dataclass(frozen=True)
class Wish:
    """Which job file: of which state of the log, at what time, on which paper.

    The same wish gives the same bytes for ever: its address may be kept.
    """

    head: str
    at: datetime
    paper: Paper
    units: Units
    supplement: bool

    @property
    def query(self) -> str:
        """Give it as the query of an address."""
        return urlencode(
            {
                "head": self.head,
                "at": self.at.isoformat(),
                "paper": self.paper.value,
                "units": self.units.value,
                "supplement": YES if self.supplement else "no",
            }
        )


@dataclass(frozen=True)
class Unsigned:
    """A hold point that nobody signed, or whose signer is not recorded."""

    step: str
    name: str
    word: str
    done: bool


def wish_of(there: There, query: dict[str, str]) -> Wish | None:
    """Give the wish that an address tells; None where it tells none that can be made."""
    try:
        return Wish(
            head=query["head"],
            at=datetime.fromisoformat(query["at"]).astimezone(there.when.zone),
            paper=Paper(query.get("paper", Paper.A4)),
            units=Units(query.get("units", Units.MM)),
            supplement=query.get("supplement") == YES,
        )
    except (KeyError, ValueError, OverflowError):
        return None


def at_head(known: Known, head: str) -> Known | None:
    """Give the repair as its log told it when it ended with this hash."""
    if len(head) < SHORTEST_HEAD:
        return None
    entries = known.log.entries
    for count in range(len(entries), 0, -1):
        if entries[count - 1].hash.startswith(head):
            log = Log(entries[:count])
            return known if count == len(entries) else Known(known.name, log, fold(log))
    return None


def make(
    repair: Repair, before: Repair | None, head: str, at: datetime, options: tuple[Paper, Units]
) -> Packet:
    """Write the job file; in the worker process.

    Raises
    ------
    Unanswerable
        Where the supplement is wanted and one of the two states has no plan.
    TypesetError
        Where the pages cannot be set.
    """
    from panelwright.record import gather, record, supplement  # noqa: PLC0415 - only where made

    answers = gather(repair, as_of=at)
    sheet = None
    if before is not None:
        sheet = supplement(before, gather(before, as_of=at), repair, answers)
    paper, units = options
    return record(
        repair,
        answers,
        Options(paper=paper, units=units, as_of=at, log_head=head, supplement=sheet),
    )


def before_latest(known: Known) -> Known | None:
    """Give the repair without its latest finding; None where there is none."""
    found = change.latest(known)
    return change.without(known, found) if found else None


def unsigned(repair: Repair, plan: PlanAnswer | Unanswered | None) -> tuple[Unsigned, ...]:
    """Give the hold points that are not signed."""
    if plan is None or isinstance(plan, Unanswered):
        return ()
    return tuple(
        Unsigned(step.id, f"{step.name[:1].upper()}{step.name[1:]}", _open_word(step), step.done)
        for step in plan.steps
        if step.hold and not (step.done and any(_signs(one, step) for one in repair.events))
    )


def _open_word(step: PlannedStep) -> str:
    return "done, nobody signed" if step.done else "to sign"


def _signs(event: Event, step: PlannedStep) -> bool:
    """Tell whether an event with a name is about a step: by its id, its kind, or a release."""
    if not event.by:
        return False
    if event.kind == "released":
        return step.id.startswith("release-") and bool({event.part, event.joint} & {*step.concerns})
    told = event.step or ""
    return event.kind == "done" and (step.id == told or step.id.startswith(f"{told}-"))
