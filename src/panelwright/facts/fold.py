"""From a log to the repair that it tells of.

The fold is total: whatever well-formed facts a log holds, in whatever order, it gives a repair
and the problems of those facts that do not fit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias
from uuid import UUID

from panelwright.errors import InvalidFile
from panelwright.facts.check import check
from panelwright.facts.document import data_of
from panelwright.facts.entry import Fact
from panelwright.facts.file import document_from
from panelwright.facts.kinds import UPCASTS, WITHDRAWN, Upcast, kinds
from panelwright.facts.log import Log
from panelwright.facts.models.document import Document
from panelwright.facts.problem import Problem
from panelwright.facts.repair import Repair, repair_of

Upcasts: TypeAlias = Mapping[tuple[str, int], Upcast]


@dataclass(frozen=True)
class Folded:
    """What a log says now.

    Attributes
    ----------
    repair : Repair
        With all problems in it.
    facts : tuple of Fact
        Those that the repair rests on, by the newest rules, in the order of the log; a table said
        anew stands where it was said first.
    withdrawn : frozenset of UUID
        Facts that were taken back.
    replaced : frozenset of UUID
        Facts whose table was said anew later; they count again once that is withdrawn.
    problems : tuple of Problem
        Of facts that do not fit, then of tables that do not fit together.
    """

    repair: Repair
    facts: tuple[Fact, ...]
    withdrawn: frozenset[UUID]
    replaced: frozenset[UUID]
    problems: tuple[Problem, ...]


def fold(log: Log, *, upcasts: Upcasts = UPCASTS) -> Folded:
    """Give the repair that a log tells of; it never fails."""
    problems: list[Problem] = []
    withdrawn = _withdrawn(log.facts, problems)
    standing = [fact for fact in log.facts if fact.id not in withdrawn and fact.kind != WITHDRAWN]
    known = [fact for fact in standing if _is_known(fact, problems)]
    raised = [_raised(fact, upcasts, problems) for fact in known]
    document, said = _document([fact for fact in raised if fact is not None], problems)
    problems += check(document)
    everything = tuple(dict.fromkeys(problems))
    repair = repair_of(document, everything)
    return Folded(repair, said.facts, withdrawn, said.replaced, everything)


def _place(fact: Fact) -> str:
    return f"{fact.kind} {fact.id}"


def _withdrawn(facts: tuple[Fact, ...], problems: list[Problem]) -> frozenset[UUID]:
    """Give the ids that stand withdrawn; a withdrawal can be withdrawn by a later one."""
    places = {fact.id: number for number, fact in enumerate(facts)}
    gone: set[UUID] = set()
    found: list[Problem] = []
    for number, fact in reversed(tuple(enumerate(facts))):
        if fact.kind != WITHDRAWN or fact.id in gone:
            continue
        target = _target(fact)
        place = places.get(target) if target is not None else None
        if target is None or place is None:
            what = f"{fact.body.get('id')!r} is no fact of this log; nothing is withdrawn"
            found.append(Problem(_place(fact), what, hard=False))
        elif facts[place].kind == WITHDRAWN and place >= number:
            what = f"{target} is no withdrawal before this one; nothing is withdrawn"
            found.append(Problem(_place(fact), what, hard=False))
        else:
            gone.add(target)
    problems += reversed(found)
    return frozenset(gone)


def _target(fact: Fact) -> UUID | None:
    identity = fact.body.get("id")
    try:
        return UUID(identity) if isinstance(identity, str) else None
    except ValueError:
        return None


def _is_known(fact: Fact, problems: list[Problem]) -> bool:
    if fact.kind in kinds():
        return True
    what = "no such kind of fact is known here; it was written by another version and is left out"
    problems.append(Problem(_place(fact), what, hard=False))
    return False


def _raised(fact: Fact, upcasts: Upcasts, problems: list[Problem]) -> Fact | None:
    """Give the fact by the newest rules of its kind; the log keeps it as it was written."""
    newest = _newest_version(fact.kind, upcasts)
    try:
        raised = _upcast(fact, upcasts)
    except (ValueError, TypeError, LookupError, AttributeError) as error:
        what = (
            f"its version {fact.version} cannot be read by the rules of version {newest} "
            f"({error}); withdraw it and say it anew"
        )
        problems.append(Problem(_place(fact), what))
        return None
    if raised.version == newest:
        return raised
    what = (
        f"it is in version {raised.version}, and version {newest} is known here; "
        "it was written by another version of the program and is left out"
    )
    problems.append(Problem(_place(fact), what))
    return None


def _upcast(fact: Fact, upcasts: Upcasts) -> Fact:
    body, version = fact.body, fact.version
    while (fact.kind, version) in upcasts:
        body, version = upcasts[fact.kind, version](body), version + 1
    if version == fact.version:
        return fact
    return Fact.model_validate({**dict(fact), "body": body, "version": version})


def _newest_version(kind: str, upcasts: Upcasts) -> int:
    return max([kinds()[kind].version, *(version + 1 for name, version in upcasts if name == kind)])


@dataclass(frozen=True)
class _Said:
    """What stands of facts that say the same table anew, and what it replaced."""

    facts: tuple[Fact, ...]
    replaced: frozenset[UUID]


def _table(fact: Fact) -> tuple[str, str] | None:
    """Give the table that a fact is about, where it can be said anew: its kind and id."""
    kind = kinds()[fact.kind]
    if kind.single:
        return fact.kind, ""
    identity = fact.body.get("id")
    return (fact.kind, identity) if kind.named and isinstance(identity, str) else None


def _when(fact: Fact) -> tuple[float, float]:
    return fact.happened_s, fact.recorded_at.timestamp()


def _newest(facts: Iterable[Fact]) -> _Said:
    """Keep of every table what was observed last, where it was said first.

    Of two headers of one moment the later in the log counts. Two items of one id, observed and
    recorded at one moment, come from one file: both stay, and the check of the document tells.
    """
    slots: list[Fact | None] = []
    standing: dict[tuple[str, str], list[int]] = {}
    replaced: set[UUID] = set()
    for fact in facts:
        slots.append(fact)
        table = _table(fact)
        if table is None:
            continue
        own = standing.setdefault(table, [])
        before = slots[own[0]] if own else None
        if before is None or _at_once(fact, before):
            own.append(len(slots) - 1)
            continue
        slots.pop()
        if _is_older(fact, before):
            replaced.add(fact.id)
            continue
        replaced.update(one.id for slot in own if (one := slots[slot]) is not None)
        for slot in own[1:]:
            slots[slot] = None
        slots[own[0]] = fact
        del own[1:]
    return _Said(tuple(fact for fact in slots if fact is not None), frozenset(replaced))


def _at_once(fact: Fact, standing: Fact) -> bool:
    return not kinds()[fact.kind].single and _when(fact) == _when(standing)


def _is_older(fact: Fact, standing: Fact) -> bool:
    if kinds()[fact.kind].single:
        return fact.happened_s < standing.happened_s
    return _when(fact) < _when(standing)


def _document(facts: list[Fact], problems: list[Problem]) -> tuple[Document, _Said]:
    """Validate what stands at once; where that fails, find what does not fit and leave it.

    A table that was said anew wrongly stands as it was said before.
    """
    said = _newest(facts)
    if all(not _read(fact).problems for fact in said.facts):
        return _of_items(said.facts), said
    wrong = {fact.id: found for fact in facts if (found := _misfits(fact))}
    said = _newest(fact for fact in facts if fact.id not in wrong)
    last = {table: fact for fact in said.facts if (table := _table(fact)) is not None}
    mended: set[UUID] = set()
    for fact in facts:
        if fact.id not in wrong:
            continue
        standing = last.get(table) if (table := _table(fact)) is not None else None
        if standing is not None and _is_older(fact, standing):
            mended.add(fact.id)
        else:
            problems += wrong[fact.id]
    return _of_items(said.facts), _Said(said.facts, said.replaced | mended)


@dataclass(frozen=True)
class _Read:
    """A fact as the model of its table, or what is wrong with it."""

    fact: Fact
    item: object
    problems: tuple[tuple[str, str], ...]


_MOST_READ = 50_000
_have_read: dict[int, _Read] = {}
"""By identity of the fact, which is held so that it stays: a log that grows is read once."""


def _read(fact: Fact) -> _Read:
    known = _have_read.get(id(fact))
    if known is not None:
        return known
    try:
        table = getattr(document_from(data_of((fact,))), fact.kind)
    except InvalidFile as error:
        read = _Read(fact, None, tuple(error.problems))
    else:
        read = _Read(fact, table if kinds()[fact.kind].single else table[0], ())
    if len(_have_read) >= _MOST_READ:
        _have_read.clear()
    _have_read[id(fact)] = read
    return read


def _of_items(facts: Iterable[Fact]) -> Document:
    """Put a document together from facts that fit their tables."""
    tables: dict[str, list[object]] = {}
    for fact in facts:
        tables.setdefault(fact.kind, []).append(_read(fact).item)
    return Document.model_validate(
        {
            name: items[-1] if kinds()[name].single else tuple(items)
            for name, items in tables.items()
        }
    )


def _misfits(fact: Fact) -> list[Problem]:
    return _named(fact, _read(fact).problems)


def _named(fact: Fact, problems: Iterable[tuple[str, str]]) -> list[Problem]:
    """Give the problems with the fact's id where a file has the table's number."""
    start = (f"{fact.kind}[0]", fact.kind)
    return [
        Problem(
            f"{_place(fact)} {where.removeprefix(start[0]).removeprefix(start[1])}".rstrip(),
            what,
        )
        for where, what in problems
    ]
