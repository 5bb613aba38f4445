"""What a finding changes: the repair with it against the same repair without it."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright.facts.fold import fold
from panelwright.facts.log import Log
from panelwright.plan.supplement import Kind, Supplement
from panelwright.record import Unanswered
from panelwright.web.known import Known
from panelwright.web.work import Failed

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.facts.repair import Repair
    from panelwright.web.answers import Answers

WORK = frozenset({"event", "reading", "temperature"})
"""Kinds that show that the work had begun: what is found after that was hidden before."""

TITLES = {
    Kind.TIME: "Time",
    Kind.PART: "Parts",
    Kind.JOINT: "Joints",
    Kind.KIT: "Parts list",
    Kind.STEP: "Work",
}


@dataclass(frozen=True)
class Change:
    """What the latest finding changes.

    Attributes
    ----------
    found : tuple of str
        The findings, in words.
    at_once : tuple of str
        What is known without a new plan: parts and joints.
    sheet : Supplement or None
        The whole difference, once both plans are made.
    making : bool
        True until then.
    why : tuple of str
        Why there is no difference to show; empty where there is one.
    """

    found: tuple[str, ...]
    at_once: tuple[str, ...]
    sheet: Supplement | None
    making: bool
    why: tuple[str, ...] = ()


def latest(known: Known) -> tuple[Fact, ...]:
    """Give the finding said last, and those that were recorded at the same moment."""
    found = [fact for fact in known.folded.facts if fact.kind == "finding"]
    if not found:
        return ()
    last = max(fact.recorded_at for fact in found)
    return tuple(fact for fact in found if fact.recorded_at == last)


def was_hidden(known: Known, found: tuple[Fact, ...]) -> bool:
    """Tell whether findings came after the work had begun."""
    if any(fact.body.get("after") for fact in found):
        return True
    first = min((fact.recorded_at for fact in found), default=None)
    return first is not None and any(
        fact.kind in WORK and fact.recorded_at < first for fact in known.folded.facts
    )


def without(known: Known, found: tuple[Fact, ...]) -> Known:
    """Give the repair as its log would tell it had these findings not been made."""
    gone = {fact.id for fact in found}
    log = Log(tuple(entry for entry in known.log.entries if entry.fact.id not in gone))
    return Known(known.name, log, fold(log))


def words_of(known: Known, found: tuple[Fact, ...]) -> tuple[str, ...]:
    """Say findings: the part, and what was found."""
    names = {part.id: part.label for part in known.repair.parts}
    return tuple(
        f"{names.get(str(fact.body.get('part')), fact.body.get('part'))}: {fact.body.get('what')}"
        for fact in found
    )


def change(answers: Answers, known: Known) -> Change | None:
    """Give what the latest hidden damage changes; None where none was found."""
    found = latest(known)
    if not found or not was_hidden(known, found):
        return None
    before = without(known, found)
    words = words_of(known, found)
    at_once = (*_parts(before.repair, known.repair), *_off(answers, before, known))
    when = answers.plan_time()
    long = answers.long(
        known, "change", key_of(before, known, when), compare, before.repair, known.repair, when
    )
    return _told(words, at_once, long.value if long.current else None)


def _told(words: tuple[str, ...], at_once: tuple[str, ...], value: object) -> Change:
    match value:
        case Supplement():
            return Change(words, at_once, value, making=False)
        case Unanswered():
            return Change(words, at_once, None, making=False, why=value.why)
        case Failed():
            why = ("The two plans could not be compared: a fault of the program.",)
            return Change(words, at_once, None, making=False, why=why)
        case _:
            return Change(words, at_once, None, making=True)


def planned_part(repair: Repair) -> Repair:
    """Give a repair without what no plan depends on."""
    return replace(repair, counts=(), photos=())


def key_of(before: Known, after: Known, when: datetime) -> Hashable:
    """Give all that the difference depends on."""
    return (planned_part(before.repair), planned_part(after.repair), when)


def compare(before: Repair, after: Repair, when: datetime) -> Supplement:
    """Plan both and give the difference; in the worker process.

    Raises
    ------
    Unanswerable
        Where one of the two has no plan.
    """
    from panelwright.record import gather, supplement  # noqa: PLC0415 - only where it is done

    first, second = gather(before, as_of=when), gather(after, as_of=when)
    return supplement(before, first, after, second)


def _parts(before: Repair, after: Repair) -> tuple[str, ...]:
    old = {part.id: part.state for part in before.parts}
    return tuple(
        f"{part.label}: {WORDS.get(part.state, part.state)}, was: {WORDS[old[part.id]]}"
        for part in after.parts
        if part.id in old and old[part.id] != part.state
    )


WORDS = {
    "keep": "stays",
    "repair": "repair in place",
    "section": "section",
    "replace": "replace",
    "inspect": "inspect",
    "remove-and-refit": "off and on again",
}
"""What becomes of a part, on pages."""


def _off(answers: Answers, before: Known, after: Known) -> tuple[str, ...]:
    """Say which parts and joints come off besides, by the teardown alone."""
    old, new = answers.teardown(before), answers.teardown(after)
    if isinstance(old, Unanswered) or isinstance(new, Unanswered):
        return ()
    joints = {joint.id: joint.label for joint in after.repair.joints}
    parts = {removal.part: removal.name for removal in (*old.removals, *new.removals)}
    return (
        *(f"{parts[part]} comes off too" for part in new.order if part not in old.order),
        *(f"{parts[part]} stays on after all" for part in old.order if part not in new.order),
        *(
            f"{joints.get(joint, joint)} is opened and made again"
            for joint in new.open
            if joint not in old.open
        ),
        *(
            f"{joints.get(joint, joint)} stays closed after all"
            for joint in old.open
            if joint not in new.open
        ),
    )


def rows(sheet: Supplement) -> tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...]:
    """Give a difference as groups of what, before and now; the findings themselves left out."""
    groups = (
        (
            title,
            tuple(
                (one.what, _state(kind, one.before), _state(kind, one.after))
                for one in sheet.changes
                if one.kind is kind
            ),
        )
        for kind, title in TITLES.items()
    )
    return tuple((title, lines) for title, lines in groups if lines)


def _state(kind: Kind, word: str) -> str:
    return WORDS.get(word, word) if kind is Kind.PART else word
