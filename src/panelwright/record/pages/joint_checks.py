"""Checks and notes of the joints: what several share is said once, the rest at the joint."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panelwright.joints.answer import Relation, Weight
from panelwright.quantities import Units, show_length
from panelwright.record.blocks import RunIn, Said, Size, Tone
from panelwright.record.job import counted, runs
from panelwright.record.notes import read_sources

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panelwright.joints.answer import Check, JointAnswer
    from panelwright.record.blocks import Block

SIGNS = {Relation.AT_LEAST: "≥", Relation.AT_MOST: "≤"}
MANY = 3
"""Joints from which on a line is said once for all of them."""


def shorter(joint: JointAnswer, words: str) -> str:
    """Words of a check without the names of both sheets, which the heading has."""
    return words.replace(" on ".join(joint.layers), "both sheets")


def _figure(value: float, unit: str, units: Units) -> str:
    """A figure of a check; lengths in the page's units, finely enough to see what passes."""
    if unit == "mm" and units is Units.IN:
        return show_length(value, units)
    return f"{value:.3g} {unit}".rstrip()


def _words(joint: JointAnswer, check: Check, units: Units) -> Said:
    words = shorter(joint, check.what)
    if check.value is not None:
        words += f" {_figure(check.value, check.unit, units)}"
    if check.limit is not None:
        limit = _figure(check.limit, check.unit, units)
        words += f" ({SIGNS.get(check.relation, check.relation.value)} {limit})"
    sources, rest = read_sources(check.source)
    return Said(f"{words}; {rest}" if rest else words, sources)


def _notes(joint: JointAnswer) -> list[str]:
    """Notes of a joint, and of its checks that are not kept: each once, whatever it is said of."""
    found = dict.fromkeys(joint.notes, "")
    for check in (*_missed(joint), *_unkept(joint)):
        if check.note:
            found.setdefault(check.note, f"{_subject(check)}: ")
    return [f"{about}{note}" for note, about in found.items()]


def _missed(joint: JointAnswer) -> list[Check]:
    """Advice that is not met."""
    return [c for c in joint.checks if c.weight is Weight.GUIDANCE and c.ok is False]


def _unkept(joint: JointAnswer) -> list[Check]:
    """Limits that are not kept, or not judged."""
    return [c for c in joint.checks if c.weight is Weight.LIMIT and c.ok is not True]


@dataclass
class Shared:
    """Lines by the joints that say them."""

    advice: dict[Said, list[str]] = field(default_factory=dict)
    notes: dict[str, list[str]] = field(default_factory=dict)
    number: dict[str, int] = field(default_factory=dict)
    """Of each joint, as its sheet shows it."""

    def advice_once(self, line: Said) -> bool:
        """Whether a line of advice stands at the head."""
        return len(self.advice.get(line, ())) >= MANY

    def note_once(self, note: str) -> bool:
        """Whether a note stands at the head."""
        return len(self.notes.get(note, ())) > 1


def shared_by(joints: Sequence[JointAnswer], units: Units) -> Shared:
    """Which advice and which notes several joints share."""
    shared = Shared(number={joint.id: n for n, joint in enumerate(joints, start=1)})
    for joint in joints:
        for check in _missed(joint):
            shared.advice.setdefault(_words(joint, check, units), []).append(joint.id)
        for note in _notes(joint):
            shared.notes.setdefault(note, []).append(joint.id)
    return shared


def _whose(shared: Shared, joints: list[str]) -> str:
    """Which joints a line is about, by their numbers."""
    if len(joints) == len(shared.number):
        return "every joint"
    return f"{runs([shared.number[joint] for joint in joints])}"


def shared_advice(shared: Shared) -> tuple[Block, ...]:
    """Advice that several joints do not meet, each with their numbers."""
    advice = tuple(
        Said(f"{_whose(shared, joints)}: {line.text}", line.sources)
        for line, joints in shared.advice.items()
        if shared.advice_once(line)
    )
    lead = Said("Advice not met, by joint:", tone=Tone.OPEN, strong=True)
    return (RunIn(advice, lead, Size.SMALL),) if advice else ()


def shared_notes(shared: Shared) -> tuple[Block, ...]:
    """Notes that several joints share, each with their numbers."""
    notes = tuple(
        Said(f"{_whose(shared, joints)}: {note}")
        for note, joints in shared.notes.items()
        if shared.note_once(note)
    )
    return (RunIn(notes, Said("Notes, by joint:", strong=True), Size.SMALL),) if notes else ()


AGAINST_OLD = "rivets alone against the old"
"""The check that the words on strength carry already."""


def strength_told(joint: JointAnswer) -> bool:
    """Whether the words on strength say how the rivets alone stand against the old ones."""
    strength = joint.strength
    return strength.new_kN is not None and strength.old_kN is not None and bool(strength.ratio)


def _limits(joint: JointAnswer, units: Units) -> Iterator[Said]:
    """Limits that are not kept or not judged; the kept ones counted."""
    unkept = _unkept(joint)
    for check in unkept:
        line, broken = _words(joint, check, units), check.ok is False
        words = f"{'not kept' if broken else 'not judged'}: {line.text}"
        tone = Tone.NOT_OK if broken else Tone.OPEN
        yield Said(words, line.sources, strong=broken, tone=tone)
    kept = sum(check.weight is Weight.LIMIT and check.ok is True for check in joint.checks)
    if kept:
        tone = Tone.PLAIN if unkept else Tone.OK
        yield Said(f"{counted(kept, 'limit')} kept", tone=tone, strong=not unkept)


def _subject(check: Check) -> str:
    """What several checks of one kind share: the words before the first comma."""
    return check.what.partition(",")[0]


def _margin(check: Check) -> float:
    """How far a check is from its limit: the smaller, the worse."""
    if not check.value or not check.limit:
        return 0.0
    ratio = check.value / check.limit
    return ratio if check.relation is Relation.AT_LEAST else 1.0 / ratio


def _worst(joint: JointAnswer, checks: list[Check], units: Units) -> Iterator[Said]:
    """Of the checks of one kind the one farthest from its limit, with how many they are."""
    kinds: dict[str, list[Check]] = {}
    for check in checks:
        kinds.setdefault(_subject(check), []).append(check)
    for alike in kinds.values():
        line = _words(joint, min(alike, key=_margin), units)
        count = f", the worst of {len(alike)}" if len(alike) > 1 else ""
        yield Said(f"{line.text}{count}", line.sources)


def _advice(joint: JointAnswer, shared: Shared, units: Units) -> Iterator[Said]:
    """Advice not met, as far as it does not stand at the head; the rest counted."""
    advice = [check for check in joint.checks if check.weight is Weight.GUIDANCE]
    missed = _missed(joint)
    own = [check for check in missed if not shared.advice_once(_words(joint, check, units))]
    told = [check for check in own if check.what.startswith(AGAINST_OLD) and strength_told(joint)]
    if not advice:
        return
    words = f"advice: {len(advice) - len(missed)} kept, {len(missed)} not"
    above = len(missed) - len(own)
    yield Said(f"{words} ({above} of them at the head)" if above else words)
    yield from _worst(joint, [check for check in own if check not in told], units)


def check_lines(joint: JointAnswer, shared: Shared, units: Units) -> Iterator[Block]:
    """Limits that are not kept or not judged and advice not met; the others are counted."""
    said = (*_limits(joint, units), *_advice(joint, shared, units))
    if said:
        yield RunIn(said, size=Size.SMALL)
    lone = tuple(Said(note) for note in _notes(joint) if not shared.note_once(note))
    if lone:
        yield RunIn(lone, Said("Notes:"), Size.SMALL)
