"""A stored repair as its log tells it, and what of it each room is given.

A room is given a repair in which every table that it does not read is empty, so that what it
answers can depend on nothing else; the same tables are the key by which its answer is kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property

from panelwright.facts.fold import Folded
from panelwright.facts.log import Log
from panelwright.facts.models.document import Document
from panelwright.facts.problem import Problem, Question
from panelwright.facts.repair import Repair, repair_of

READS: Mapping[Question, frozenset[str]] = {
    Question.TEARDOWN: frozenset({"procedure", "vehicle", "parts", "joints", "findings"}),
    Question.JOINTS: frozenset({"procedure", "shop", "parts", "joints", "rivets", "adhesives"}),
    Question.FIT: frozenset(
        {"shop", "symmetry", "parts", "points", "tools", "readings", "stations", "contacts"}
        | {"locators", "blocked", "sisters", "events", "adjusters", "conditions"}
    ),
    Question.BOND: frozenset(
        {"repair", "shop", "conditions", "parts", "joints", "adhesives", "lamps", "heatings"}
        | {"temperatures", "events"}
    ),
    Question.QUIET: frozenset({"conditions", "parts", "pads"}),
}
"""Which tables of a repair each room reads; it is given no others."""

_EMPTY = repair_of(Document())


@dataclass(frozen=True, eq=False)
class Given:
    """What a room is given, as a key: what it is told apart by is worked out once.

    Attributes
    ----------
    repair : Repair
        In which every table that the room does not read is empty.
    """

    repair: Repair

    @cached_property
    def _hash(self) -> int:
        return hash(self.repair)

    def __hash__(self) -> int:
        """Give the hash of the tables."""
        return self._hash

    def __eq__(self, other: object) -> bool:
        """Tell whether the tables are the same."""
        return self is other or (isinstance(other, Given) and self.repair == other.repair)


@dataclass(frozen=True)
class Known:
    """A stored repair as its log tells it now."""

    name: str
    log: Log
    folded: Folded

    @cached_property
    def repair(self) -> Repair:
        """Give the repair under the name that it is stored by."""
        repair = self.folded.repair
        header = repair.repair.model_copy(update={"name": self.name})
        return replace(repair, repair=header)

    @cached_property
    def _given(self) -> dict[Question, Given]:
        return {}

    def given(self, question: Question) -> Given:
        """Give what a room is given of it."""
        known = self._given.get(question)
        if known is None:
            known = self._given[question] = Given(only(self.repair, READS[question]))
        return known

    @cached_property
    def to_plan(self) -> Given:
        """Give what a plan is made of."""
        return Given(replace(self.repair, counts=(), photos=()))

    def in_the_way(self, question: Question) -> tuple[Problem, ...]:
        """Give the problems that a question cannot do without."""
        return tuple(p for p in self.repair.problems if question in p.blocks)


def only(repair: Repair, tables: frozenset[str]) -> Repair:
    """Give a repair in which all other tables are empty.

    A step that is signed is a fact for the plan alone: no room reads it, so none is asked anew.
    """
    kept = replace(_EMPTY, **{name: getattr(repair, name) for name in tables})
    return replace(kept, events=tuple(one for one in kept.events if one.kind != "done"))


def holds_all_of(newer: Repair, older: Repair) -> bool:
    """Tell whether all that an older answer can speak of still has its place in a repair."""
    return all(
        _names(getattr(older, one.name)) <= _names(getattr(newer, one.name))
        for one in fields(Repair)
    )


def _names(table: object) -> frozenset[str]:
    rows = table if isinstance(table, tuple) else ()
    return frozenset(name for row in rows if isinstance(name := getattr(row, "id", None), str))
