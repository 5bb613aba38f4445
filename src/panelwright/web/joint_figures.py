"""Measures, strength and checks of a joint, as its own screen shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.joints.answer_parts import Weight
from panelwright.quantities import Units, show_force, show_length, show_length_with_u
from panelwright.web import joints_view
from panelwright.web.shown import Sign, percent

if TYPE_CHECKING:
    from panelwright.joints.answer import JointAnswer
    from panelwright.joints.answer_parts import Check, Strength


@dataclass(frozen=True)
class Held:
    """A check that is not kept, or not judged."""

    sign: Sign
    word: str
    what: str
    figure: str
    limit: str
    note: str
    source: str


def measures(joint: JointAnswer, units: Units) -> tuple[tuple[str, str], ...]:
    """Give a joint's figures: name and value."""
    found: list[tuple[str, str]] = []
    if joint.adhesive is not None:
        high = show_length(joint.adhesive.bead.triangle_mm, units)
        found.append(("Bead in a triangle", f"{high} high"))
        found.append(("Adhesive in all", joints_view.millilitres(joint.adhesive.total_ml, units)))
        found.append(("Bond line", show_length(joint.adhesive.bond_line_mm, units)))
    if joint.edge_mm is not None:
        found.append(("Rivet to the flange’s edge", show_length(joint.edge_mm, units)))
    low, high_mm = joint.pitch_mm.min, joint.pitch_mm.max
    if low is not None and high_mm is not None:
        first, last = show_length(low, units), show_length(high_mm, units)
        found.append(("Rivet to rivet", first if first == last else f"{first} to {last}"))
    if joint.stack_mm is not None and joint.stack_u_mm is not None:
        stack = show_length_with_u(joint.stack_mm, joint.stack_u_mm, units)
        found.append(("Stack, adhesive counted", stack))
    return tuple(found)


def strength(joint: JointAnswer, units: Units) -> tuple[str, ...]:
    """Say what rivets, old fasteners and bond could carry."""
    return tuple(_strength(joint.strength, units))


def _strength(of: Strength, units: Units) -> list[str]:
    def kilonewtons(value: float) -> str:
        return show_force(1000.0 * value, units)

    said = []
    if of.new_kN is not None:
        said.append(f"The rivets alone carry {kilonewtons(of.new_kN)}, governed by {of.governs}.")
    if of.old_kN is not None:
        said.append(f"The old fasteners carried {kilonewtons(of.old_kN)}.")
    if of.ratio is not None:
        said.append(f"New, with partial factors, against old: {percent(of.ratio)}.")
    if of.old_estimate_kN is not None:
        low, high = (kilonewtons(end) for end in (of.old_estimate_kN.low, of.old_estimate_kN.high))
        said.append(f"The old sheets could bear about {low} to {high}.")
    if of.bond_kN is not None:
        said.append(
            f"The bond at full cure, by area and data sheet: {kilonewtons(of.bond_kN)}; it stands "
            "beside the rivets and is never added to them."
        )
    return [*said, *of.notes]


def held(joint: JointAnswer, units: Units) -> tuple[Held, ...]:
    """Give the checks that are not kept or not judged, binding ones first."""
    wrong = [
        check
        for check in joint.checks
        if check.ok is False or (check.ok is None and check.weight is Weight.LIMIT)
    ]
    ordered = sorted(wrong, key=lambda check: (check.ok is None, check.weight is not Weight.LIMIT))
    return tuple(_held(check, units) for check in ordered)


def _held(check: Check, units: Units) -> Held:
    sign, word = Sign.BAD, "not kept"
    if check.ok is None:
        sign, word = Sign.ASK, "not judged"
    elif check.weight is not Weight.LIMIT:
        sign, word = Sign.UNSURE, str(check.weight)
    limit = f"{check.relation} {_figure(check.limit, check.unit, units)}"
    figure = _figure(check.value, check.unit, units)
    return Held(sign, word, check.what, figure, limit, check.note, check.source)


def _figure(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return "–"
    if unit == "mm":
        return show_length(value, units)
    if unit == "kN":
        return show_force(1000.0 * value, units)
    return f"{value:.2f} {unit}".strip() if value != int(value) else f"{value:g} {unit}".strip()


def origins(joint: JointAnswer) -> tuple[tuple[str, Sign, str], ...]:
    """Give on whose word each part of a joint stands."""
    parts = joint.origins
    told = (
        ("Rivet", parts.rivet),
        ("Number", parts.count),
        ("Places", parts.positions),
        ("Adhesive", parts.adhesive),
    )
    return tuple((name, *joints_view.ORIGINS[origin]) for name, origin in told)
