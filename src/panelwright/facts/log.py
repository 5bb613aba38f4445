"""The log of a repair: facts in a chain, each entry bound to the one before."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from uuid import UUID

from panelwright.errors import InvalidFile
from panelwright.facts.entry import (
    BEFORE_THE_FIRST,
    Entry,
    Fact,
    entry_after,
    entry_bytes,
    entry_from,
    hash_of,
)


@dataclass(frozen=True)
class Log:
    """Facts in the order they were recorded; appending gives another log."""

    entries: tuple[Entry, ...] = ()

    @property
    def head(self) -> str:
        """Give the hash of the last entry, which stands for the whole log.

        A log that lost its last entries is still a log: only a head that was kept elsewhere
        (in a packet, in a backup) shows the loss.
        """
        return self.entries[-1].hash if self.entries else BEFORE_THE_FIRST

    @property
    def facts(self) -> tuple[Fact, ...]:
        """Give the facts in the order they were recorded."""
        return tuple(entry.fact for entry in self.entries)

    @cached_property
    def by_id(self) -> dict[UUID, Fact]:
        """Give the fact of each id."""
        return {entry.fact.id: entry.fact for entry in self.entries}

    def append(self, fact: Fact) -> Log:
        """Give the log with one fact more; see `extend`."""
        return self.extend((fact,))

    def extend(self, facts: Iterable[Fact]) -> Log:
        """Give the log with more facts; one that is there already adds nothing.

        Raises
        ------
        InvalidFile
            Where an id stands for another fact already.
        """
        known = dict(self.by_id)
        added: list[Entry] = []
        head = self.head
        for fact in facts:
            same = known.setdefault(fact.id, fact)
            if same is not fact:
                _refuse_another(same, fact)
                continue
            added.append(entry_after(head, fact))
            head = added[-1].hash
        return Log(self.entries + tuple(added)) if added else self


def _refuse_another(known: Fact, fact: Fact) -> None:
    if not known.says_the_same(fact):
        what = f"this id stands for another fact ({known.kind}) already; give it a new id"
        raise InvalidFile([(f"{fact.kind} {fact.id}", what)])


@dataclass(frozen=True)
class Broken:
    """An entry that is not what was written; `number` counts from 0."""

    number: int
    id: UUID
    what: str


def verify(log: Log) -> tuple[Broken, ...]:
    """Say which entries broke: empty where the chain holds."""
    return tuple(_broken(log))


def _broken(log: Log) -> Iterator[Broken]:
    seen: set[UUID] = set()
    befores = chain((BEFORE_THE_FIRST,), (entry.hash for entry in log.entries))
    for number, (before, entry) in enumerate(zip(befores, log.entries, strict=False)):
        identity = entry.fact.id
        if entry.previous != before:
            yield Broken(number, identity, "it does not follow the entry before it")
        if entry.hash != hash_of(entry.fact, entry.previous):
            yield Broken(number, identity, "its fact is not the one that was hashed")
        if identity in seen:
            yield Broken(number, identity, "its id was used before")
        seen.add(identity)


def log_bytes(log: Log) -> bytes:
    """Give the log as lines, one entry each."""
    return b"".join(entry_bytes(entry) + b"\n" for entry in log.entries)


def log_from(data: bytes) -> Log:
    """Read a log from the lines that `log_bytes` made.

    Raises
    ------
    InvalidFile
        With every line that is not what was written.
    """
    if data and not data.endswith(b"\n"):
        raise InvalidFile([("log", "the last line is not finished: the log was cut short")])
    entries: list[Entry] = []
    problems: list[tuple[str, str]] = []
    for number, line in enumerate(data.split(b"\n")[:-1]):
        try:
            entries.append(entry_from(line))
        except InvalidFile as error:
            problems += [(f"entry {number}", what) for _, what in error.problems]
    if problems:
        raise InvalidFile(problems)
    log = Log(tuple(entries))
    if broken := verify(log):
        raise InvalidFile([(f"entry {one.number}", one.what) for one in broken])
    return log
