"""What a repair's course is made of: parts that come off and go on, joints opened and remade."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from panelwright.fit.body_answer import BodyStatus
from panelwright.joints.answer import Origin
from panelwright.plan.library import Scope, settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from panelwright.facts.models.parts import Joint, Part
    from panelwright.joints.answer import JointAnswer
    from panelwright.plan.gather import Answers

BONDED_KINDS = frozenset({"rivet-bond", "bond"})
OTHER_KINDS = frozenset({"weld", "hem", "sleeve"})
RENEWED = frozenset({"replace", "section"})
COMES_OFF = RENEWED | {"remove-and-refit"}


@dataclass(frozen=True)
class Thing:
    """What one step works on.

    Parameters
    ----------
    key : str
        Stands behind the step's name; empty for the whole repair.
    label : str
        As people call it.
    parts, joints : frozenset of str
        By these, steps on the same things find each other.
    """

    key: str
    label: str
    parts: frozenset[str] = frozenset()
    joints: frozenset[str] = frozenset()

    def touches(self, other: Thing) -> bool:
        """Whether two steps work on something in common; the whole repair touches everything."""
        if not self.key or not other.key:
            return True
        return bool(self.parts & other.parts or self.joints & other.joints)


WHOLE = Thing("", "the repair")


class Course:
    """The parts and joints of one repair, sorted by what happens to them."""

    def __init__(self, answers: Answers) -> None:
        self.answers = answers
        self.repair = answers.repair

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Parts as they come off."""
        if self.answers.teardown is not None:
            return self.answers.teardown.order
        return tuple(part.id for part in self.repair.parts if part.state in COMES_OFF)

    @cached_property
    def opened(self) -> tuple[Joint, ...]:
        """Joints to separate, as they are opened."""
        if self.answers.teardown is not None:
            return tuple(self.repair.joint_by_id[id_] for id_ in self.answers.teardown.open)
        off = set(self.order)
        return tuple(joint for joint in self.repair.joints if off & set(joint.layers))

    @cached_property
    def closes(self) -> Mapping[str, str]:
        """By joint: the part that closes it, the first of its layers to come off."""
        found = {}
        for joint in self.opened:
            loose = [part for part in self.order if part in joint.layers]
            if loose:
                found[joint.id] = loose[0]
        return found

    @cached_property
    def remade(self) -> tuple[Joint, ...]:
        """Opened joints that are riveted, bonded, welded or hemmed again."""
        return tuple(j for j in self.opened if j.kind != "bolt" and j.id in self.closes)

    @cached_property
    def bonded(self) -> tuple[Joint, ...]:
        """Remade joints with adhesive."""
        return tuple(joint for joint in self.remade if joint.kind in BONDED_KINDS)

    @cached_property
    def panels(self) -> tuple[str, ...]:
        """Parts that go on for good with rivets, adhesive or welds, in the order they go on."""
        closing = {self.closes[joint.id] for joint in self.remade}
        return tuple(part for part in reversed(self.order) if part in closing)

    @cached_property
    def under(self) -> Mapping[str, str]:
        """By part that came off from beneath a panel: the first panel that covers it again."""
        found: dict[str, str] = {}
        for panel in self.panels:
            covered = {layer for joint in self.joints_of(panel) for layer in joint.layers}
            covered |= set(self.part(panel).hides)
            for part in self.order:
                if part in covered and part not in self.panels:
                    found.setdefault(part, panel)
        return found

    @cached_property
    def refits(self) -> tuple[str, ...]:
        """All other parts that came off, in the order they go on: trim, lamps, closures."""
        fitted = {*self.panels, *self.under}
        return tuple(part for part in reversed(self.order) if part not in fitted)

    @cached_property
    def asked(self) -> tuple[Joint, ...]:
        """Remade joints for which nothing is proposed: the maker must be asked."""
        return tuple(joint for joint in self.remade if self.asks(joint))

    def asks(self, joint: Joint) -> tuple[str, ...]:
        """What only the maker can say of a joint; empty where nothing must be asked."""
        answer = self.joint_answers.get(joint.id)
        if answer is not None:
            of = answer.origins
            found = {
                "rivet": of.rivet,
                "count": of.count,
                "places": of.positions,
                "adhesive": of.adhesive,
            }
            return tuple(word for word, origin in found.items() if origin is Origin.ASK)
        parts = (self.repair.part_by_id.get(layer) for layer in joint.layers)
        structural = any(part is not None and part.structural for part in parts)
        return ("how it is made",) if structural and joint.remake is None else ()

    def one_person(self, thing: Thing) -> bool:
        """Whether it is known to be small enough for one pair of hands."""
        part = self.repair.part_by_id.get(thing.key)
        area = part.area if part is not None else None
        return area is not None and area.m2 <= settings()["one_person_area"]

    def joints_of(self, part: str) -> tuple[Joint, ...]:
        """Remade joints that this part closes."""
        return tuple(joint for joint in self.remade if self.closes[joint.id] == part)

    def bonded_of(self, part: str) -> tuple[Joint, ...]:
        """Those of them with adhesive."""
        return tuple(joint for joint in self.bonded if self.closes[joint.id] == part)

    @cached_property
    def joint_answers(self) -> Mapping[str, JointAnswer]:
        """What the joints room says, by joint."""
        room = self.answers.joints
        return {} if room is None else {joint.id: joint for joint in room.joints}

    def part(self, id_: str) -> Part:
        """The part of that id."""
        return self.repair.part_by_id[id_]

    def carried_kinds(self) -> frozenset[str]:
        """Kinds of things that the parts carry: sensor, restraint, foam and so on."""
        room = self.answers.teardown
        return frozenset() if room is None else frozenset(item.kind for item in room.carried)

    def applies(self, condition: str) -> bool:
        """Whether a condition of the step library holds for this repair."""
        return _CONDITIONS[condition](self)

    def things(self, scope: Scope) -> tuple[Thing, ...]:
        """For what a step of that scope is repeated."""
        return _THINGS[scope](self)

    def part_thing(self, id_: str) -> Thing:
        """A part, and the opened joints that it is a layer of."""
        joints = frozenset(joint.id for joint in self.opened if id_ in joint.layers)
        return Thing(id_, self.part(id_).label, frozenset({id_}), joints)

    def panel_thing(self, id_: str) -> Thing:
        """A part that goes on, and the joints that it closes."""
        joints = frozenset(joint.id for joint in self.joints_of(id_))
        return Thing(id_, self.part(id_).label, frozenset({id_}), joints)


def joint_thing(joint: Joint) -> Thing:
    """A joint."""
    label = joint.label if "joint" in joint.label else f"joint {joint.label}"
    return Thing(joint.id, label, joints=frozenset({joint.id}))


def slug(text: str) -> str:
    """A text as it can stand in a step's id."""
    return "-".join("".join(c if c.isalnum() else " " for c in text.lower()).split())


def _sensors(course: Course) -> tuple[Thing, ...]:
    room = course.answers.teardown
    found = [] if room is None else [c for c in room.carried if c.kind == "sensor"]
    return tuple(
        Thing(slug(f"{c.what} {c.part}"), f"{c.what} of {course.part(c.part).label}")
        for c in dict.fromkeys(found)
    )


def _looks(course: Course) -> tuple[Thing, ...]:
    room = course.answers.teardown
    return () if room is None else tuple(course.part_thing(look.part) for look in room.look)


def _arrivals(course: Course) -> tuple[Thing, ...]:
    return tuple(
        course.part_thing(part.id)
        for part in course.repair.parts
        if part.id in course.order and part.arrives is not None and not part.on_hand
    )


def _heated(course: Course) -> tuple[Thing, ...]:
    heated = {heating.joint for heating in course.repair.heatings if heating.stays}
    return tuple(joint_thing(joint) for joint in course.bonded if joint.id in heated)


def _padded(course: Course) -> tuple[Thing, ...]:
    parts = dict.fromkeys(pad.part for pad in course.repair.pads)
    return tuple(course.part_thing(part) for part in parts if part in course.repair.part_by_id)


def _panels(course: Course) -> tuple[Thing, ...]:
    return tuple(course.panel_thing(part) for part in course.panels)


_THINGS: dict[Scope, Callable[[Course], tuple[Thing, ...]]] = {
    Scope.REPAIR: lambda _: (WHOLE,),
    Scope.BOLTS: lambda c: tuple(joint_thing(j) for j in c.opened if j.kind == "bolt"),
    Scope.OPENS: lambda c: tuple(joint_thing(j) for j in c.opened if j.kind != "bolt"),
    Scope.REFITS_OFF: lambda c: tuple(
        c.part_thing(p) for p in c.order if c.part(p).state not in RENEWED or p in c.refits
    ),
    Scope.PARTS_OFF: lambda c: tuple(
        c.part_thing(p) for p in c.order if c.part(p).state in RENEWED and p not in c.refits
    ),
    Scope.LOOKS: _looks,
    Scope.ARRIVALS: _arrivals,
    Scope.REMADE: lambda c: tuple(joint_thing(j) for j in c.remade),
    Scope.PANELS_ON: _panels,
    Scope.BONDED_ON: lambda c: tuple(t for t in _panels(c) if c.bonded_of(t.key)),
    Scope.OTHER_JOINTS: lambda c: tuple(joint_thing(j) for j in c.remade if j.kind in OTHER_KINDS),
    Scope.HEATED: _heated,
    Scope.BONDED: lambda c: tuple(joint_thing(j) for j in c.bonded),
    Scope.PADDED: _padded,
    Scope.REFITS: lambda c: tuple(c.part_thing(p) for p in c.refits),
    Scope.SENSORS: _sensors,
    Scope.ASKED: lambda c: tuple(joint_thing(joint) for joint in c.asked),
    Scope.UNDER: lambda c: tuple(c.part_thing(part) for part in c.under),
}


def _racked(course: Course) -> bool:
    room = course.answers.fit
    return room is not None and room.body.status is BodyStatus.RACKED


def _old_points(course: Course) -> bool:
    return any("before" in p.homes and p.on in course.order for p in course.repair.points)


_CONDITIONS: dict[str, Callable[[Course], bool]] = {
    "always": lambda _: True,
    "high-voltage": lambda c: c.repair.vehicle.drive != "combustion",
    "fuel": lambda c: c.repair.vehicle.drive != "battery",
    "restraint": lambda c: "restraint" in c.carried_kinds(),
    "opens": lambda c: bool(c.opened),
    "old-points": _old_points,
    "racked": _racked,
    "findings": lambda c: bool(c.repair.findings),
    "foam": lambda c: "foam" in c.carried_kinds(),
    "rivets": lambda c: any(joint.kind == "rivet-bond" for joint in c.remade),
}
