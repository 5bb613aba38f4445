"""What the pages Bond and Cure show: plain values for their templates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.bond.answer import Fit
from panelwright.joints.answer_parts import Origin
from panelwright.record import Unanswered
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.bond.answer import BondAnswer, JointBond
    from panelwright.facts.entry import Fact
    from panelwright.joints.answer import JointsAnswer
    from panelwright.teardown.answer import Answer as TeardownAnswer
    from panelwright.web.known import Known

EVENTS: Mapping[str, str] = {
    "prepared": "Surfaces prepared",
    "bead-begun": "Adhesive started",
    "closed": "Panel on",
    "rivets-set": "Rivets set",
    "lamp-on": "Lamp on",
    "lamp-off": "Lamp off",
    "released": "Released",
}
"""Moments of a joint in their order, as the buttons say them."""
COURSE = ("prepared", "bead-begun", "closed", "rivets-set", "released")
"""Those that every joint of a panel goes through; the lamp stands before one joint."""
SURFACE: Mapping[Fit, tuple[Sign, str]] = {
    Fit.YES: (Sign.GOOD, "bond"),
    Fit.NO: (Sign.BAD, "do not bond"),
    Fit.UNKNOWN: (Sign.ASK, "measure first"),
}


@dataclass(frozen=True)
class Line:
    """A joint within its panel's group."""

    number: int
    id: str
    label: str
    said: str
    href: str
    ask: bool
    lamp: str


@dataclass(frozen=True)
class Group:
    """The joints that one panel closes: they are bonded in one go.

    Attributes
    ----------
    next : str
        The moment that comes next, empty where all have passed.
    first : bool
        Whether it is the one to go on with.
    for_ : tuple of str
        Names of the joints that wait for it.
    ask : tuple of str
        Names of those on which the maker must be asked first.
    last : tuple of str
        Ids of the facts said last, which one tap takes back.
    """

    number: int
    panel: str
    label: str
    lines: tuple[Line, ...]
    next: str
    first: bool
    for_: tuple[str, ...]
    ask: tuple[str, ...]
    last: tuple[str, ...]
    last_words: str
    last_at: datetime | None


def href(known: Known, joint: str) -> str:
    """Give the address of a joint's own screen of its cure."""
    return f"/repairs/{known.name}/cure?id={quote(joint, safe='')}"


def bond_of(answer: BondAnswer | Unanswered, joint: str) -> JointBond | None:
    """Give what the room says of a joint."""
    if isinstance(answer, Unanswered):
        return None
    return next((one for one in answer.joints if one.joint == joint), None)


def moments(known: Known) -> tuple[Fact, ...]:
    """Give the facts that tell the moments of joints, in the order of the log."""
    return tuple(
        fact
        for fact in known.folded.facts
        if fact.kind == "event" and fact.body.get("kind") in EVENTS and fact.body.get("joint")
    )


def passed(known: Known) -> Mapping[str, frozenset[str]]:
    """Give by joint the kinds of moments that are recorded."""
    found: dict[str, set[str]] = {}
    for fact in moments(known):
        found.setdefault(str(fact.body["joint"]), set()).add(str(fact.body["kind"]))
    return {joint: frozenset(kinds) for joint, kinds in found.items()}


def asked(answer: JointsAnswer | Unanswered) -> frozenset[str]:
    """Give the joints on which the maker must be asked."""
    if isinstance(answer, Unanswered):
        return frozenset()
    return frozenset(joint.id for joint in answer.joints if joint.from_ is Origin.ASK)


def groups(
    known: Known,
    answer: BondAnswer,
    off: TeardownAnswer | Unanswered,
    joints: JointsAnswer | Unanswered,
) -> tuple[Group, ...]:
    """Give the bonded joints by the panel that closes them, in the order they go on."""
    order = () if isinstance(off, Unanswered) else off.order
    opened = None if isinstance(off, Unanswered) else set(off.open)
    by_panel: dict[str, list[JointBond]] = {}
    for bond in answer.joints:
        if opened is not None and bond.joint not in opened:
            continue
        layers = known.repair.joint_by_id[bond.joint].layers
        panel = next((part for part in order if part in layers), layers[0])
        by_panel.setdefault(panel, []).append(bond)
    rank = {part: -place for place, part in enumerate(order)}
    ordered = sorted(by_panel.items(), key=lambda item: rank.get(item[0], 0))
    ask = asked(joints)
    found = [
        _group(known, number, panel, tuple(bonds), ask)
        for number, (panel, bonds) in enumerate(ordered)
    ]
    current = pressing(found)
    found.sort(key=lambda group: group is not current)
    return tuple(replace(group, first=group is current) for group in found)


def pressing(groups: Iterable[Group]) -> Group | None:
    """Give the group to go on with: where adhesive is open first, where it only sets last."""
    ranks = {"closed": 0, "rivets-set": 0, "bead-begun": 1, "prepared": 1, "released": 2}
    return min((one for one in groups if one.next), key=lambda one: ranks[one.next], default=None)


def _group(
    known: Known, number: int, panel: str, bonds: tuple[JointBond, ...], ask: frozenset[str]
) -> Group:
    names = {joint.id: joint.label for joint in known.repair.joints}
    done = passed(known)
    able = [bond.joint for bond in bonds if bond.joint not in ask]
    following = next((kind for kind in COURSE if waiting(done, able, kind)), "")
    part = known.repair.part_by_id.get(panel)
    last = _last(known, {bond.joint for bond in bonds})
    return Group(
        number=number,
        panel=panel,
        label=part.label if part else panel,
        lines=tuple(_line(known, place, bond, names, ask) for place, bond in enumerate(bonds)),
        next=following,
        first=False,
        for_=tuple(names[joint] for joint in waiting(done, able, following)),
        ask=tuple(names[bond.joint] for bond in bonds if bond.joint in ask),
        last=tuple(str(fact.id) for fact in last),
        last_words=EVENTS[str(last[0].body["kind"])] if last else "",
        last_at=last[0].recorded_at if last else None,
    )


def waiting(
    done: Mapping[str, frozenset[str]], joints: Iterable[str], kind: str
) -> tuple[str, ...]:
    """Give the joints that a moment is still to come for: neither it nor a later one passed."""
    if kind not in COURSE:
        return ()
    later = set(COURSE[COURSE.index(kind) :])
    return tuple(joint for joint in joints if not later & done.get(joint, frozenset()))


def _last(known: Known, joints: set[str]) -> tuple[Fact, ...]:
    """Give the moments of these joints that were said last, in one tap."""
    mine = [fact for fact in moments(known) if fact.body["joint"] in joints]
    if not mine:
        return ()
    last = max(mine, key=lambda fact: fact.recorded_at)
    same = (last.recorded_at, last.body["kind"])
    return tuple(fact for fact in mine if (fact.recorded_at, fact.body["kind"]) == same)


def _line(
    known: Known, place: int, bond: JointBond, names: Mapping[str, str], ask: frozenset[str]
) -> Line:
    clock = bond.clock
    told = (
        ("released", clock.released),
        ("lamp off", clock.lamp_off),
        ("lamp on", clock.lamp_on),
        ("rivets set", clock.rivets_set),
        ("panel on", clock.closed),
        ("adhesive started", clock.bead_begun),
        ("prepared", clock.prepared),
    )
    said = next((word for word, moment in told if moment is not None), "not started")
    return Line(
        number=place,
        id=bond.joint,
        label=names.get(bond.joint, bond.joint),
        said=said,
        href=href(known, bond.joint),
        ask=bond.joint in ask,
        lamp=lamp_next(bond),
    )


def lamp_next(bond: JointBond) -> str:
    """Give which switching of the lamp comes next: only after the panel is on."""
    clock = bond.clock
    if not bond.stays or clock.closed is None or clock.released is not None:
        return ""
    if clock.lamp_on is None:
        return "lamp-on"
    on = clock.lamp_off is None or clock.lamp_off < clock.lamp_on
    return "lamp-off" if on else ""


def instruction(answer: BondAnswer | Unanswered, groups: tuple[Group, ...]) -> tuple[str, str, str]:
    """Say what to do next about the bonds: instruction, reason, and "bad" where it is a stop."""
    if isinstance(answer, Unanswered):
        return "When it holds cannot be said yet.", answer.why[0] if answer.why else "", ""
    current = pressing(groups)
    if current is None:
        return "Every joint is released.", "Nothing is left to be timed.", ""
    begun = current.next in ("closed", "rivets-set", "released")
    if not begun and answer.surface.bond is not Fit.YES:
        return answer.surface.words, "", "bad" if answer.surface.bond is Fit.NO else ""
    words = {
        "prepared": f"Prepare the surfaces of {current.label}, then tap.",
        "bead-begun": f"Start the adhesive of {current.label}: tap with the first bead.",
        "closed": f"Close {current.label} once: slide, never lift; tap when it is on.",
        "rivets-set": f"Set the rivets of {current.label}, then tap.",
        "released": f"Leave {current.label} clamped and unloaded.",
    }[current.next]
    return words, "" if begun else answer.surface.words, ""
