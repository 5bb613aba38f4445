"""Parts, the joints that hold them, and who hides whom: what teardown reasons about."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from panelwright.facts.repair import BODY
from panelwright.teardown.answer import Stretch

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.facts.repair import Repair


class State(StrEnum):
    """What is to become of a part."""

    KEEP = "keep"
    REPAIR = "repair"
    SECTION = "section"
    REPLACE = "replace"
    INSPECT = "inspect"
    REFIT = "remove-and-refit"


COMES_OFF = frozenset({State.REPLACE, State.REFIT, State.SECTION})
REACHED = frozenset({State.REPAIR, State.INSPECT})


@dataclass(frozen=True)
class Part:
    """A part as teardown sees it.

    Parameters
    ----------
    id : str
    state : State
    hides : tuple of str
        Parts reached only once this one is off.
    section : tuple of (str, Stretch)
        Joint and stretch that sectioning opens.
    name : str
        As people call it; the id where left out.
    """

    id: str
    state: State = State.KEEP
    hides: tuple[str, ...] = ()
    section: tuple[tuple[str, Stretch], ...] = ()
    name: str = ""

    @property
    def label(self) -> str:
        """What people call it."""
        return self.name or self.id


@dataclass(frozen=True)
class Joint:
    """A joint as teardown sees it: layers outermost first."""

    id: str
    layers: tuple[str, ...]
    kind: str = "rivet-bond"


@dataclass(frozen=True)
class Graph:
    """All parts and joints of a repair, in the file's order."""

    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    place: Mapping[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        places: dict[str, int] = {}
        for number, part in enumerate(self.parts):
            places.setdefault(part.id, number)
        object.__setattr__(self, "place", places)

    def part(self, name: str) -> Part:
        """The part of this id; KeyError where there is none."""
        return self.parts[self.place[name]]

    def knows(self, name: str) -> bool:
        """Whether a part of this id is declared."""
        return name in self.place

    def label(self, name: str) -> str:
        """What people call a part; its id where it is not declared."""
        return self.part(name).label if self.knows(name) else name

    def in_order(self, names: set[str] | frozenset[str]) -> tuple[str, ...]:
        """Ids of declared parts in the file's order."""
        return tuple(sorted(names, key=lambda name: self.place[name]))

    @cached_property
    def hiders(self) -> Mapping[str, tuple[str, ...]]:
        """For each part, the parts that hide it, in the file's order."""
        table: dict[str, list[str]] = {}
        for number, part in enumerate(self.parts):
            if self.place[part.id] != number:
                continue
            for hidden in dict.fromkeys(part.hides):
                if hidden != part.id and self.knows(hidden):
                    table.setdefault(hidden, []).append(part.id)
        return {name: tuple(names) for name, names in table.items()}

    @cached_property
    def held_by(self) -> Mapping[str, tuple[Joint, ...]]:
        """For each part, the joints that hold it, in the file's order."""
        table: dict[str, list[Joint]] = {}
        seen: set[str] = set()
        for joint in self.joints:
            if joint.id in seen:
                continue
            seen.add(joint.id)
            for layer in dict.fromkeys(joint.layers):
                table.setdefault(layer, []).append(joint)
        return {name: tuple(joints) for name, joints in table.items()}

    def joints_of(self, name: str) -> tuple[Joint, ...]:
        """The joints that hold a part."""
        return self.held_by.get(name, ())

    def opened_by(self, name: str) -> tuple[Joint, ...]:
        """The joints that taking this part off opens: all of its own, or its named stretches."""
        part = self.part(name)
        if part.state is not State.SECTION:
            return self.joints_of(name)
        named = {joint for joint, _ in part.section}
        return tuple(joint for joint in self.joints_of(name) if joint.id in named)


def graph_of(repair: Repair) -> Graph:
    """The graph that a repair describes; the body itself is no part of it.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    Graph
        Stretches in mm along their joint.
    """
    parts = tuple(
        Part(
            id=part.id,
            state=State(part.state),
            hides=part.hides,
            section=tuple(
                (
                    cut.joint,
                    Stretch(
                        from_mm=None if cut.from_ is None else cut.from_.mm,
                        to_mm=None if cut.to is None else cut.to.mm,
                    ),
                )
                for cut in part.section
            ),
            name=part.label,
        )
        for part in repair.parts
        if part.id != BODY
    )
    joints = tuple(Joint(joint.id, joint.layers, joint.kind) for joint in repair.joints)
    return Graph(parts, joints)
