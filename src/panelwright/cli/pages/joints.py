"""The page of the joints room."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.cli.text import bullet, bullets, heading, table, wrap
from panelwright.cli.text import page as page_of
from panelwright.joints.answer_parts import LayoutStatus, Origin, Weight
from panelwright.quantities import Units, show_force, show_length, show_length_with_u

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from panelwright.joints.answer import JointAnswer, JointsAnswer
    from panelwright.joints.answer_parts import Check, Strength

_ML_PER_FLUID_OUNCE = 29.5735295625


def _word(origin: Origin) -> str:
    """How a part's origin is said behind it."""
    return {
        Origin.PROCEDURE: "by the procedure",
        Origin.PROPOSAL: "proposal",
        Origin.ASK: "ask the maker",
        Origin.MISSING: "not known",
        Origin.NONE: "none",
    }[origin]


def _millilitres(ml: float, units: Units) -> str:
    """A joint's few millilitres, to a tenth."""
    if units is Units.IN:
        return f"{ml / _ML_PER_FLUID_OUNCE:.2f} fl oz"
    return f"{ml:.1f} ml"


def _instruction(joint: JointAnswer, units: Units) -> str:
    """What to do, first line."""
    if joint.from_ is Origin.ASK:
        return "ASK THE MAKER. The joint is structural and the procedure is silent."
    parts = []
    if joint.rivet is not None and joint.count:
        parts.append(f"{joint.count} × {joint.rivet.name}")
    elif joint.origins.rivet is not Origin.NONE:
        parts.append("rivet and number are not known yet")
    if joint.adhesive is not None:
        bead = joint.adhesive.bead
        name = joint.adhesive.adhesive or "adhesive"
        size = show_length(bead.round_mm, units)
        high = show_length(bead.triangle_mm, units)
        parts.append(
            f"{name}, {_millilitres(joint.adhesive.total_ml, units)} in all, bead {size} round "
            f"or {high} high in a triangle"
        )
    return "; ".join(parts) + "." if parts else "Nothing can be said yet."


def _places(joint: JointAnswer, units: Units) -> str:
    if not joint.at_mm:
        if joint.layout is LayoutStatus.INFEASIBLE:
            return "Places: no layout keeps all the rules (see below)."
        if joint.origins.positions is Origin.ASK and joint.from_ is not Origin.ASK:
            return "Places: ask the maker."
        return ""
    figures = [show_length(at, units).partition(" ")[0].removesuffix(".0") for at in joint.at_mm]
    unit = "mm" if units is Units.MM else "in"
    told = f"Places from the joint's start, {unit} ({_word(joint.origins.positions)}): "
    return told + ", ".join(figures) + "."


def _measures(joint: JointAnswer, units: Units) -> str:
    said = []
    if joint.stack_mm is not None and joint.stack_u_mm is not None:
        stack = show_length_with_u(joint.stack_mm, joint.stack_u_mm, units)
        name, share = joint.stack_shares[0]
        said.append(f"stack {stack} (of its spread {share:.0%} from the {name})")
    if joint.edge_mm is not None:
        said.append(f"edge distance {show_length(joint.edge_mm, units)}")
    low, high = joint.pitch_mm.min, joint.pitch_mm.max
    if low is not None and high is not None:
        first, last = show_length(low, units), show_length(high, units)
        said.append(f"pitch {first}" if first == last else f"pitch {first} to {last}")
    words = "; ".join(said)
    return words[:1].upper() + words[1:] + "." if words else ""


def _origins(joint: JointAnswer) -> str:
    parts = joint.origins
    said = (
        ("rivet", parts.rivet),
        ("number", parts.count),
        ("places", parts.positions),
        ("adhesive", parts.adhesive),
    )
    marks = f" Marks: {', '.join(joint.marks)}." if joint.marks else ""
    return "; ".join(f"{name} {_word(origin)}" for name, origin in said) + "." + marks


def _kilonewtons(value: float, units: Units) -> str:
    return show_force(1000.0 * value, units)


def _strength(strength: Strength, units: Units) -> str:
    said = []
    if strength.new_kN is not None:
        said.append(
            f"Rivets alone: {_kilonewtons(strength.new_kN, units)} (governed by {strength.governs})"
        )
    if strength.old_kN is not None:
        said.append(f"old fasteners: {_kilonewtons(strength.old_kN, units)}")
    if strength.ratio is not None:
        said.append(f"new (with partial factors) against old: {strength.ratio:.0%}")
    band = strength.old_estimate_kN
    if band is not None:
        low, high = _kilonewtons(band.low, units), _kilonewtons(band.high, units)
        said.append(f"old fasteners not given; their sheets could bear about {low} to {high}")
    if strength.bond_kN is not None:
        said.append(
            f"bond at full cure by area and data sheet: {_kilonewtons(strength.bond_kN, units)}, "
            "beside the rivets, never added"
        )
    return "; ".join(said) + "." if said else ""


def _shown(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return "–"
    if unit == "mm":
        return show_length(value, units)
    if unit == "kN":
        return _kilonewtons(value, units)
    if unit:
        return f"{value:.2f} {unit}"
    return f"{value:g}" if value == int(value) else f"{value:.2f}"


def _verdict(check: Check) -> str:
    if check.ok is None:
        return "–"
    if check.ok:
        return "yes"
    return "NO" if check.weight is Weight.LIMIT else "no"


def _check(check: Check, units: Units, number: int) -> str:
    """One line: the figure, the limit, how binding, and the rule's number."""
    figure = _shown(check.value, check.unit, units)
    limit = _shown(check.limit, check.unit, units)
    note = f"; {check.note}" if check.note else ""
    held = f"{check.what}: {figure}, {check.relation} {limit}"
    return bullet(f"{held} ({check.weight} [{number}]){note}", mark=f"{_verdict(check):<3}")


def _kept(checks: Iterable[Check], units: Units) -> str:
    """The rules that are kept, in one sentence: what, its figure and every limit it keeps."""
    limits: dict[tuple[str, str], list[str]] = {}
    for check in checks:
        figure = _shown(check.value, check.unit, units)
        limit = _shown(check.limit, check.unit, units)
        limits.setdefault((check.what, figure), []).append(f"{check.relation} {limit}")
    words = [f"{what} {figure} ({', '.join(kept)})" for (what, figure), kept in limits.items()]
    return f"Kept: {'; '.join(words)}." if words else ""


def _checks(checks: Iterable[Check], units: Units, numbers: Mapping[str, int]) -> str:
    """What is not kept or not judged line by line, what is kept in one sentence."""
    checks = list(checks)
    lines = [
        _check(check, units, numbers[check.source])
        for check in checks
        if check.ok is False or (check.ok is None and check.weight is Weight.LIMIT)
    ]
    kept = _kept((check for check in checks if check.ok), units)
    return "\n".join([*(["Not kept or not judged:", *lines] if lines else []), wrap(kept)])


def _overview(answer: JointsAnswer, units: Units) -> str:
    """One line for each joint: what to set, what to bead, on whose word."""
    rows = [
        (
            joint.id,
            f"{joint.count} × {joint.rivet.name}" if joint.rivet and joint.count else "–",
            "–" if joint.adhesive_ml is None else _millilitres(joint.adhesive_ml, units),
            _word(joint.from_),
        )
        for joint in answer.joints
    ]
    return table(("joint", "rivets", "adhesive", "on whose word"), rows, align="<<>")


def _shared(answer: JointsAnswer) -> tuple[str, ...]:
    """Notes of every joint that has any: said once for all."""
    noted = [dict.fromkeys((*joint.notes, *joint.strength.notes)) for joint in answer.joints]
    noted = [notes for notes in noted if notes]
    if len(noted) < 2:
        return ()
    return tuple(note for note in noted[0] if all(note in notes for notes in noted))


def _broken(joint: JointAnswer) -> str:
    """Binding rules that are not kept, before everything else."""
    broken = [check for check in joint.checks if check.ok is False and check.weight is Weight.LIMIT]
    return bullets((f"Not kept: {check.what} ({check.source})" for check in broken), mark="!")


def _numbers(answer: JointsAnswer) -> dict[str, int]:
    """Every rule and source once, numbered in order of first use."""
    texts = (
        text
        for joint in answer.joints
        for text in (
            *(check.source for check in joint.checks),
            *(str(source) for source in joint.sources),
        )
    )
    return {text: number for number, text in enumerate(dict.fromkeys(texts), start=1)}


def _joint(
    joint: JointAnswer, units: Units, numbers: Mapping[str, int], shared: Collection[str]
) -> str:
    asks = bullets((f"Ask the maker {ask}." for ask in joint.asks), mark="?")
    used = ", ".join(str(numbers[str(source)]) for source in joint.sources)
    texts = (
        _places(joint, units),
        _measures(joint, units),
        _origins(joint),
        _strength(joint.strength, units),
    )
    return page_of(
        heading(f"{joint.id}: {' + '.join(joint.layers)} ({joint.kind})"),
        wrap(_instruction(joint, units)),
        asks,
        _broken(joint),
        *(wrap(text) for text in texts if text),
        bullets(note for note in (*joint.notes, *joint.strength.notes) if note not in shared),
        _checks(joint.checks, units, numbers),
        wrap(f"Sources: {used}.") if used else "",
    )


def page(answer: JointsAnswer, units: Units = Units.MM) -> str:
    """The page: cautions, each joint with its instruction first, the rest, what is wrong."""
    others = [(other.id, other.why) for other in answer.others]
    numbers, shared = _numbers(answer), _shared(answer)
    rules = (bullet(text, mark=f"[{number}]") for text, number in numbers.items())
    return page_of(
        heading("How the joints are put back"),
        _overview(answer, units),
        wrap(answer.disclaimer),
        bullets(answer.cautions, mark="!"),
        heading("At every joint") if shared else "",
        bullets(shared),
        *("\n" + _joint(joint, units, numbers, shared) for joint in answer.joints),
        heading("Other joints") if others else "",
        table(("joint", "how"), others) if others else "",
        heading("Missing or wrong") if answer.problems else "",
        bullets(f"{each.where}: {each.what}" for each in answer.problems),
        heading("Rules and sources") if numbers else "",
        "\n".join(rules),
    )
