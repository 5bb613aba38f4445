"""What the pages Findings and Part show: plain values for their templates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.record import Unanswered
from panelwright.teardown.answer import Action
from panelwright.web.change import WORDS
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.entry import Fact
    from panelwright.facts.models.parts import Part
    from panelwright.facts.repair import Repair
    from panelwright.plan.answer import PlanAnswer
    from panelwright.sources import Source
    from panelwright.teardown.answer import Answer, Carried, Look, Removal, Separation
    from panelwright.web.known import Known

SIGNS: Mapping[str, Sign] = {
    "keep": Sign.GOOD,
    "repair": Sign.UNSURE,
    "section": Sign.BAD,
    "replace": Sign.BAD,
    "inspect": Sign.ASK,
    "remove-and-refit": Sign.WAIT,
}
LABELS: Mapping[str, str] = {
    "keep": "Keep",
    "repair": "Repair",
    "section": "Section",
    "replace": "Replace",
    "inspect": "Inspect",
    "remove-and-refit": "Off and on again",
}
"""Words of the buttons."""
WITHOUT_WORDS: Mapping[str, str] = {
    "keep": "sound, stays",
    "repair": "to be repaired",
    "section": "to be sectioned",
    "replace": "to be replaced",
    "inspect": "to be inspected",
    "remove-and-refit": "comes off and goes on again",
}
"""What a finding says where a state was tapped and nothing was typed."""
ACTIONS: Mapping[Action, str] = {
    Action.REPLACE: "off for good, a new one goes on",
    Action.SECTION: "only the marked section comes off",
    Action.REFIT: "off and kept, it goes back on",
}


@dataclass(frozen=True)
class Found:
    """A finding as it is shown."""

    id: str
    part: str
    words: str
    who: str
    photos: tuple[str, ...]


@dataclass(frozen=True)
class Row:
    """A part of the list: what becomes of it, and the address of its own screen."""

    number: int
    id: str
    label: str
    sign: Sign
    word: str
    href: str
    assumed: bool
    findings: int


@dataclass(frozen=True)
class Opening:
    """A joint that is opened; what was said for an earlier one is not said again."""

    label: str
    kind: str
    how: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Taken:
    """A part as it comes off; `off` where that is done."""

    number: int
    off: bool
    label: str
    action: str
    href: str
    why: tuple[str, ...]
    cautions: tuple[str, ...]
    cares: tuple[Carried, ...]
    openings: tuple[Opening, ...]
    looks: tuple[Look, ...]


def href(known: Known, part: str) -> str:
    """Give the address of a part's own screen."""
    return f"/repairs/{known.name}/part?id={quote(part, safe='')}"


def rows(known: Known) -> tuple[Row, ...]:
    """Give every part, in the order of the file."""
    assumed = set(known.repair.assumed.ids("part"))
    found = [finding.part for finding in known.repair.findings]
    return tuple(
        Row(
            number,
            part.id,
            part.label,
            SIGNS[part.state],
            WORDS[part.state],
            href(known, part.id),
            part.id in assumed,
            found.count(part.id),
        )
        for number, part in enumerate(known.repair.parts)
    )


def taken_off(plan: PlanAnswer | Unanswered | None) -> frozenset[str]:
    """Give the parts that are off, by what is recorded as done."""
    if plan is None or isinstance(plan, Unanswered):
        return frozenset()
    lifts = ("lift-off-", "take-off-")
    return frozenset(
        part
        for step in plan.steps
        if step.done and step.id.startswith(lifts)
        for part in step.concerns
        if step.id.endswith(f"-{part}")
    )


def instruction(
    repair: Repair, answer: Answer | Unanswered, off: frozenset[str]
) -> tuple[str, str]:
    """Say what to do first, and why."""
    if not repair.parts:
        return (
            "Add the part that was hit.",
            "What comes off follows from what becomes of each part.",
        )
    if isinstance(answer, Unanswered):
        return "What comes off cannot be said yet.", answer.why[0] if answer.why else ""
    looking = next((look for look in answer.look if look.asked and look.after is None), None)
    if looking is not None and not looking.found:
        return looking.words, "Then tap what becomes of it."
    if not answer.removals:
        return "Nothing has to come off: repair it in place.", "No part is replaced or hidden."
    return _next_off(answer, off)


def _next_off(answer: Answer, off: frozenset[str]) -> tuple[str, str]:
    """Say which part comes off next, and which follow."""
    left = [one for one in answer.removals if one.part not in off]
    if not left:
        return "Everything is off: say what you find.", "Open the part that you look at."
    first, *rest = left
    more = f"Then {', '.join(one.name for one in rest)}." if rest else ""
    if len(left) < len(answer.removals):
        return f"Take off {first.name} next.", more
    return f"Make the vehicle safe, then take off {first.name} first.", more


def taken(known: Known, answer: Answer, off: frozenset[str]) -> tuple[Taken, ...]:
    """Give the parts as they come off, each with its joints and where to look behind it."""
    said: list[Separation] = []
    shown = []
    for number, removal in enumerate(answer.removals, start=1):
        one = _taken(known, answer, number, removal, said)
        shown.append(replace(one, off=removal.part in off))
    return tuple(shown)


def _taken(
    known: Known, answer: Answer, number: int, removal: Removal, said: list[Separation]
) -> Taken:
    openings = []
    for joint in answer.separations:
        if joint.joint in removal.opens:
            openings.append(_opening(known, joint, said))
            said.append(joint)
    because = removal.why[1:] if removal.action is Action.REFIT else ()
    return Taken(
        number,
        False,
        removal.name,
        ACTIONS[removal.action],
        href(known, removal.part),
        (removal.why[0], *because),
        removal.cautions,
        tuple(care for care in answer.carried if care.part == removal.part),
        tuple(openings),
        tuple(look for look in answer.look if look.after == removal.part),
    )


def _opening(known: Known, joint: Separation, said: list[Separation]) -> Opening:
    names = {one.id: one.label for one in known.repair.joints}
    earlier = {words: names.get(one.joint, one.joint) for one in said for words in one.how}
    warned = {words for one in said for words in one.cautions}
    how = [words for words in joint.how if words not in earlier]
    like = dict.fromkeys(earlier[words] for words in joint.how if words in earlier)
    if like:
        how.append(f"{'Otherwise as' if how else 'As'} at {', '.join(like)}, cautions too.")
    return Opening(
        names.get(joint.joint, joint.joint),
        joint.kind,
        tuple(how),
        tuple(words for words in joint.cautions if words not in warned),
        joint.sources,
    )


def findings(known: Known) -> tuple[Found, ...]:
    """Give the findings, the newest first, with the photos of each."""
    return tuple(_findings(known))


def _findings(known: Known) -> Iterator[Found]:
    labels = {part.id: part.label for part in known.repair.parts}
    photos: dict[str, list[str]] = {}
    for fact in known.folded.facts:
        if fact.kind == "photo" and fact.body.get("finding"):
            photos.setdefault(str(fact.body["finding"]), []).append(str(fact.body["sha256"]))
    for fact in reversed(known.folded.facts):
        if fact.kind == "finding":
            yield _found(fact, labels, tuple(photos.get(str(fact.id), ())))


def _found(fact: Fact, labels: Mapping[str, str], photos: tuple[str, ...]) -> Found:
    part, state = str(fact.body.get("part")), fact.body.get("state")
    words = str(fact.body.get("what"))
    if state is not None and words != WITHOUT_WORDS.get(str(state)):
        words += f" – {WORDS.get(str(state), state)}"
    who = str(fact.body.get("by") or fact.person)
    return Found(str(fact.id), part, f"{labels.get(part, part)}: {words}", who, photos)


def look_of(answer: Answer | Unanswered, part: str) -> Look | None:
    """Give when a part comes into view."""
    if isinstance(answer, Unanswered):
        return None
    return next((look for look in answer.look if look.part == part), None)


def hidden_by(repair: Repair, part: str) -> tuple[Part, ...]:
    """Give the parts that hide a part, by the repair's own word."""
    return tuple(other for other in repair.parts if part in other.hides)


def cares_of(answer: Answer | Unanswered, part: str) -> tuple[Carried, ...]:
    """Give what a part carries that needs care."""
    if isinstance(answer, Unanswered):
        return ()
    return tuple(care for care in answer.carried if care.part == part)
