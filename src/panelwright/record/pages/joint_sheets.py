"""A sheet for each joint: the flange to scale, rivet, adhesive, what is not kept, whose word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.joints.answer import Origin
from panelwright.quantities import Units, show_force, show_length, show_volume
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Figure,
    Heading,
    Pairs,
    RunIn,
    Said,
    Section,
    Size,
    Together,
    Tone,
)
from panelwright.record.job import missing
from panelwright.record.pages.joint_checks import (
    check_lines,
    shared_advice,
    shared_by,
    shared_notes,
    shorter,
)
from panelwright.record.strip import strip, strip_key

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.joints.answer import JointAnswer, JointsAnswer
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.record.pages.joint_checks import Shared
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


def _force(job: Job, kN: float) -> str:
    return show_force(1000.0 * kN, job.units)


def _range(job: Job, low_mm: float, high_mm: float) -> str:
    if abs(high_mm - low_mm) < 0.05:
        return _length(job, low_mm)
    return f"{_length(job, low_mm).rsplit(' ', 1)[0]}–{_length(job, high_mm)}"


def _from(origin: Origin) -> Said:
    return Said(f"from: {ORIGIN_WORDS[origin]}", tone=ORIGIN_TONES[origin], strong=True)


def _aside(joint: JointAnswer, origin: Origin) -> str:
    """On whose word one figure stands, where that is not the joint's own."""
    return "" if origin is joint.from_ else f" ({ORIGIN_WORDS[origin]})"


def _said_so(joint: JointAnswer, origin: Origin) -> tuple[Source, ...]:
    """Sources of a count or a layout: those of the joint that stand for this origin."""
    wanted = {Origin.PROCEDURE: "procedure", Origin.PROPOSAL: "proposal"}.get(origin)
    return tuple(source for source in joint.sources if source.basis.value == wanted)


def _rivet(job: Job, joint: JointAnswer) -> Iterator[Said]:
    rivet, origins = joint.rivet, joint.origins
    if joint.count == 0:
        yield Said("no rivets", strong=True)
        return
    count = "rivets: number not known" if joint.count is None else f"{joint.count} rivets"
    old = f"{len(joint.old_at_mm)} old{', assumed evenly spread' if joint.old_assumed else ''}"
    yield Said(
        f"{count}{_aside(joint, origins.count)}, {old}",
        _said_so(joint, origins.count),
        strong=True,
    )
    if rivet is None:
        yield Said(f"rivet: {ORIGIN_WORDS[origins.rivet]}")
        return
    yield Said(f"{rivet.name or rivet.id}{_aside(joint, origins.rivet)}", rivet.sources)
    if rivet.hole_mm is not None:
        yield Said(f"drill {_length(job, rivet.hole_mm)}")
    grip = ""
    if rivet.grip_min_mm is not None and rivet.grip_max_mm is not None:
        grip = f"grip {_range(job, rivet.grip_min_mm, rivet.grip_max_mm)}"
    stack = "" if joint.stack_mm is None else f"stack {_length(job, joint.stack_mm)}"
    if grip or stack:
        yield Said(", ".join(words for words in (grip, stack) if words))


def _places(job: Job, joint: JointAnswer) -> Iterator[Said]:
    low, high = joint.pitch_mm.min, joint.pitch_mm.max
    if low is not None and high is not None:
        aside = _aside(joint, joint.origins.positions)
        sources = _said_so(joint, joint.origins.positions)
        yield Said(f"pitch {_range(job, low, high)}{aside}", sources)
    if joint.edge_mm is not None:
        yield Said(f"edge {_length(job, joint.edge_mm)}")


def _adhesive(job: Job, joint: JointAnswer) -> Iterator[Said]:
    amount, origin = joint.adhesive, joint.origins.adhesive
    if amount is None:
        if origin is not Origin.MISSING:
            yield Said(f"adhesive: {ORIGIN_WORDS[origin]}")
        return
    total = show_volume(amount.total_ml, job.units)
    triangle, round_ = (_length(job, mm) for mm in (amount.bead.triangle_mm, amount.bead.round_mm))
    yield Said(f"{total} of {amount.adhesive}{_aside(joint, origin)}", amount.sources)
    yield Said(f"bead {triangle} triangle or {round_} round")
    yield Said(f"bond line {_length(job, amount.bond_line_mm)}")


def _strength(job: Job, joint: JointAnswer) -> Iterator[Said]:
    strength = joint.strength
    if strength.new_kN is None:
        return
    words = f"rivets alone carry {_force(job, strength.new_kN)}"
    if strength.old_kN is not None and strength.ratio is not None:
        words += f", {strength.ratio:.2f} of the old joint's {_force(job, strength.old_kN)}"
        words += " (advice: ≥ 1)" if strength.ratio < 1.0 else ""
    elif strength.ratio_estimate is not None:
        low, high = strength.ratio_estimate.low, strength.ratio_estimate.high
        words += f", {low:.2f} to {high:.2f} of what the old sheets could bear"
    if strength.governs:
        words += f" ({shorter(joint, strength.governs)})"
    yield Said(words, joint.sources)
    if strength.bond_kN is not None:
        yield Said(f"bond at full cure {_force(job, strength.bond_kN)}, not added")


def _drawing(job: Job, joint: JointAnswer) -> tuple[tuple[Figure, ...], str]:
    """The flange, and its scale in words; nothing where its size is not known."""
    drawn = strip(joint, job.units)
    if drawn is None:
        return (), ""
    alt = f"flange of {job.joint(joint.id)} with its rivets, scale 1 : {drawn.scale:g}"
    figure = Figure(drawn.svg, Said(""), drawn.width_mm, drawn.height_mm, alt)
    return (figure,), f"drawn 1 : {drawn.scale:g}"


def _sheet(job: Job, joint: JointAnswer, shared: Shared) -> tuple[Block, ...]:
    figures, scale = _drawing(job, joint)
    layers = Said(" on ".join(joint.layers))
    facts = (layers, *_rivet(job, joint), *_places(job, joint), *_adhesive(job, joint))
    first: list[Block] = [*figures]
    if joint.asks:
        asks = tuple(Said(ask) for ask in joint.asks)
        lead = Said("Ask the maker; nothing is proposed here:", tone=Tone.NOT_OK, strong=True)
        first.append(RunIn(asks, lead, Size.SMALL))
    first.append(RunIn((*facts, *_strength(job, joint)), size=Size.SMALL))
    name = f"{shared.number[joint.id]} {job.joint(joint.id)}"
    head = Heading(name, _from(joint.from_), scale)
    return (Together((head, *first)), *check_lines(joint, shared, job.units))


def _others(job: Job, joints: JointsAnswer) -> tuple[Block, ...]:
    if not joints.others:
        return ()
    whys: dict[str, list[str]] = {}
    for other in joints.others:
        whys.setdefault(f"({other.kind}): {other.why}", []).append(job.joint(other.id))
    lines = tuple(Said(f"{', '.join(names)} {why}") for why, names in whys.items())
    return (RunIn(lines, Said("Other joints:", strong=True), Size.SMALL),)


def _head(job: Job, joints: JointsAnswer, shared: Shared) -> Iterator[Block]:
    """What holds at every joint, said once: cautions, notes, and what the shapes mean."""
    if joints.cautions:
        cautions = tuple(Said(words) for words in joints.cautions)
        yield RunIn(cautions, Said("▲ At every joint:", strong=True), Size.SMALL)
    yield from shared_advice(shared)
    if any(joint.length_mm is not None and joint.flange_mm is not None for joint in joints.joints):
        key = strip_key(job.units)
        alt = "what the shapes of the flanges mean, and a bar of 100 mm"
        yield Figure(key.svg, Said(""), key.width_mm, key.height_mm, alt)


def joints_section(job: Job) -> Section:
    """A sheet for each joint."""
    joints = job.answers.joints
    if isinstance(joints, Unanswered):
        return Section("Joints", (missing("Joints", joints),))
    shared = shared_by(joints.joints, job.units)
    sheets = [_sheet(job, joint, shared) for joint in joints.joints]
    ends = (*shared_notes(shared), *_others(job, joints))
    if len(sheets) % 2 and ends:  # they fill the place that an odd number of sheets leaves
        sheets, ends = [*sheets, ends], ()
    unit = "" if job.units is Units.MM else " The check bar is in millimetres."
    lead = f"{AID}. {joints.disclaimer.removeprefix(AID).lstrip('. ')}{unit}"
    head = tuple(_head(job, joints, shared)) if joints.joints else ()
    pairs = (Pairs(tuple(sheets)),) if sheets else ()
    return Section("Joints", (*head, *pairs, *ends), lead=lead)
