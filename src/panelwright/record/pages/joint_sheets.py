"""One sheet for each joint: the flange to scale, rivet, adhesive, checks, on whose word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.joints.answer import Origin, Weight
from panelwright.quantities import Units, show_length, show_volume
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Box,
    BoxKind,
    Bullets,
    Card,
    Cards,
    CheckItem,
    CheckList,
    Figure,
    Heading,
    Paragraph,
    Said,
    Section,
    Size,
    Together,
    Tone,
)
from panelwright.record.job import counted, missing
from panelwright.record.notes import read_sources
from panelwright.record.strip import strip

if TYPE_CHECKING:
    from panelwright.joints.answer import Check, JointAnswer, JointsAnswer
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.sources import Source

AID = "An aid, not an approval"

ORIGIN_WORDS = {
    Origin.PROCEDURE: "procedure",
    Origin.PROPOSAL: "proposal",
    Origin.ASK: "ask the maker",
    Origin.MISSING: "not known",
}
ORIGIN_TONES = {
    Origin.PROCEDURE: Tone.OK,
    Origin.PROPOSAL: Tone.OPEN,
    Origin.ASK: Tone.NOT_OK,
    Origin.MISSING: Tone.NOT_OK,
}


def _length(job: Job, mm: float | None) -> str:
    return "–" if mm is None else show_length(mm, job.units)


def _range(job: Job, low_mm: float, high_mm: float) -> str:
    if abs(high_mm - low_mm) < 0.05:
        return _length(job, low_mm)
    return f"{_length(job, low_mm).rsplit(' ', 1)[0]}–{_length(job, high_mm)}"


def _from(origin: Origin) -> Said:
    return Said(f"from: {ORIGIN_WORDS[origin]}", tone=ORIGIN_TONES[origin], strong=True)


def _rivet(job: Job, joint: JointAnswer) -> Card:
    rivet = joint.rivet
    if rivet is None:
        word = "none" if joint.count == 0 else ORIGIN_WORDS[joint.origins.rivet]
        return Card("RIVET", Said(word, strong=True))
    hole = "" if rivet.hole_mm is None else f"drill {_length(job, rivet.hole_mm)}"
    grip = ""
    if rivet.grip_min_mm is not None and rivet.grip_max_mm is not None:
        grip = f"grip {_range(job, rivet.grip_min_mm, rivet.grip_max_mm)}"
    stack = "" if joint.stack_mm is None else f"stack {_length(job, joint.stack_mm)}"
    detail = " · ".join(words for words in (hole, grip, stack) if words)
    return Card("RIVET", Said(rivet.name or rivet.id, rivet.sources, strong=True), Said(detail))


def _count(joint: JointAnswer) -> Card:
    old = counted(len(joint.old_at_mm), "old position")
    assumed = ", spread evenly" if joint.old_assumed else ""
    value = "–" if joint.count is None else str(joint.count)
    detail = f"{ORIGIN_WORDS[joint.origins.count]}; {old}{assumed}"
    return Card(
        "COUNT", Said(value, _said_so(joint, joint.origins.count), strong=True), Said(detail)
    )


def _said_so(joint: JointAnswer, origin: Origin) -> tuple[Source, ...]:
    """Sources of a count or a layout: those of the joint that stand for this origin."""
    wanted = {Origin.PROCEDURE: "procedure", Origin.PROPOSAL: "proposal"}.get(origin)
    return tuple(source for source in joint.sources if source.basis.value == wanted)


def _pitch(job: Job, joint: JointAnswer) -> Card:
    low, high = joint.pitch_mm.min, joint.pitch_mm.max
    value = "–" if low is None or high is None else _range(job, low, high)
    detail = f"edge {_length(job, joint.edge_mm)} · {ORIGIN_WORDS[joint.origins.positions]}"
    return Card(
        "PITCH", Said(value, _said_so(joint, joint.origins.positions), strong=True), Said(detail)
    )


def _adhesive(job: Job, joint: JointAnswer) -> Card:
    amount = joint.adhesive
    if amount is None:
        return Card("ADHESIVE", Said("–", strong=True), Said(ORIGIN_WORDS[joint.origins.adhesive]))
    triangle, round_ = (_length(job, mm) for mm in (amount.bead.triangle_mm, amount.bead.round_mm))
    bead = f"bead {triangle} triangle or {round_} round"
    return Card(
        "ADHESIVE",
        Said(show_volume(amount.total_ml, job.units), amount.sources, strong=True),
        Said(f"{amount.adhesive} · {bead} · bond line {_length(job, amount.bond_line_mm)}"),
    )


def _state(check: Check) -> Said:
    """A word and a shape; only a broken limit is a fault, guidance is marked apart."""
    if check.ok is None:
        return Said("not judged", tone=Tone.OPEN)
    if check.ok:
        return Said("ok", tone=Tone.OK, strong=True)
    if check.weight is Weight.LIMIT:
        return Said("not ok", tone=Tone.NOT_OK, strong=True)
    return Said("advice", tone=Tone.OPEN, strong=True)


def _figure(value: float, unit: str, units: Units) -> str:
    """A figure of a check; lengths in the page's units, finely enough to see what passes."""
    if unit == "mm" and units is Units.IN:
        return show_length(value, units)
    return f"{value:.4g} {unit}".rstrip()


def _check(check: Check, units: Units) -> CheckItem:
    words = check.what
    if check.value is not None:
        words += f" {_figure(check.value, check.unit, units)}"
    if check.limit is not None:
        words += f", {check.relation.value} {_figure(check.limit, check.unit, units)}"
    sources, rest = read_sources(check.source)
    return CheckItem(_state(check), Said(f"{words} ({rest})" if rest else words, sources))


def _checks(joint: JointAnswer, said: set[str], units: Units) -> tuple[Block, ...]:
    """Every limit; of guidance and information only what is not met, the rest counted.

    A note that an earlier joint has `said` already is not repeated.
    """
    limits = [check for check in joint.checks if check.weight is Weight.LIMIT]
    others = [check for check in joint.checks if check.weight is Weight.GUIDANCE]
    missed = [check for check in others if check.ok is False]
    kept = sum(check.ok is True for check in others)
    items = tuple(_check(check, units) for check in (*limits, *missed))
    blocks: list[Block] = [CheckList(items)] if items else []
    notes = [
        f"{check.what}: {check.note}"
        for check in (*limits, *missed)
        if check.ok is not True and check.note and check.note not in said
    ]
    said.update(check.note for check in (*limits, *missed))
    if others:
        notes.insert(
            0, f"Advice (other trades, preferred practice): {kept} kept, {len(missed)} not"
        )
    if notes:
        blocks.append(Paragraph(Said(". ".join(notes) + ".", tone=Tone.QUIET), size=Size.SMALL))
    return tuple(blocks)


def _strength(joint: JointAnswer) -> tuple[Block, ...]:
    strength = joint.strength
    if strength.new_kN is None:
        return ()
    words = f"Rivets alone carry {strength.new_kN:.1f} kN"
    if strength.old_kN is not None and strength.ratio is not None:
        words += f", {strength.ratio:.2f} of the old joint's {strength.old_kN:.1f} kN"
    elif strength.ratio_estimate is not None:
        low, high = strength.ratio_estimate.low, strength.ratio_estimate.high
        words += f", {low:.2f} to {high:.2f} of what the old sheets could bear"
    if strength.governs:
        words += f"; {strength.governs} governs"
    if strength.bond_kN is not None:
        words += f". The bond at full cure: {strength.bond_kN:.1f} kN, beside it, not added"
    return (Paragraph(Said(words + ".", joint.sources)),)


def _sheet(job: Job, joint: JointAnswer, said: set[str]) -> tuple[Block, ...]:
    name = job.joint(joint.id)
    layers = " on ".join(joint.layers)
    head: list[Block] = [Heading(f"{name} – {layers}", _from(joint.from_))]
    if joint.asks:
        head.append(
            Box(
                BoxKind.MISSING,
                "Ask the maker; nothing is proposed here",
                tuple(Said(ask) for ask in joint.asks),
            )
        )
    head.append(
        Cards((_rivet(job, joint), _count(joint), _pitch(job, joint), _adhesive(job, joint)), 4)
    )
    drawn = strip(joint, job.units)
    if drawn is not None:
        alt = f"flange of {name} with its rivets, scale 1 : {drawn.scale:g}"
        head.append(Figure(drawn.svg, Said(""), drawn.width_mm, drawn.height_mm, alt))
    body: list[Block] = [*_strength(joint), *_checks(joint, said, job.units)]
    if joint.notes:
        body.append(Paragraph(Said("; ".join(joint.notes) + "."), size=Size.SMALL))
    return (Together(tuple(head)), *body)


def _others(job: Job, joints: JointsAnswer) -> tuple[Block, ...]:
    if not joints.others:
        return ()
    lines = tuple(
        Said(f"{job.joint(other.id)} ({other.kind}): {other.why}") for other in joints.others
    )
    return (Heading("Other joints"), Bullets(lines))


def joints_section(job: Job) -> Section:
    """A sheet for each joint."""
    joints = job.answers.joints
    if isinstance(joints, Unanswered):
        return Section("Joints", (missing("Joints", joints),), fresh=True)
    cautions = tuple(Said(words) for words in joints.cautions)
    box: tuple[Block, ...] = (Box(BoxKind.CAUTION, "At every joint", cautions),) if cautions else ()
    said: set[str] = set()
    sheets = tuple(block for joint in joints.joints for block in _sheet(job, joint, said))
    unit = "" if job.units is Units.MM else " Drawings and check bar are in millimetres."
    lead = f"{AID}. {joints.disclaimer.removeprefix(AID).lstrip('. ')}{unit}"
    return Section("Joints", (*box, *sheets, *_others(job, joints)), fresh=True, lead=lead)
