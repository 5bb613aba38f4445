"""One joint answered: rivet, number, places, adhesive, strength and checks put together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.joints import checks_geometry as geometry
from panelwright.joints import checks_strength as strengths
from panelwright.joints import references, settings
from panelwright.joints.answer import (
    Check,
    JointAnswer,
    Need,
    Origin,
    Origins,
    Rivet,
    Weight,
)
from panelwright.joints.bonding import Bond, joint_bond, working_overlap_mm
from panelwright.joints.choice import RivetChoice, choose_rivet
from panelwright.joints.count import Count, choose_count
from panelwright.joints.judge import Rule
from panelwright.joints.positions import Positions, pitch_of, place_rivets
from panelwright.joints.resistances import Place
from panelwright.joints.rules import rules_for
from panelwright.joints.strength import StrengthResult, joint_strength
from panelwright.sources import Source, largest, marks, merge

if TYPE_CHECKING:
    from panelwright.facts.problem import Problem
    from panelwright.joints.gather import JointFacts

_WEAKEST_LAST = (Origin.NONE, Origin.PROCEDURE, Origin.PROPOSAL, Origin.MISSING, Origin.ASK)


@dataclass(frozen=True)
class JointResult:
    """The answer for one joint, what it uses up, and its problems."""

    answer: JointAnswer
    needs: tuple[Need, ...]
    problems: tuple[Problem, ...]


def _edge_mm(facts: JointFacts) -> float | None:
    if facts.remake and facts.remake.edge:
        return facts.remake.edge.mm
    return facts.flange_mm / 2.0 if facts.flange_mm is not None else None


def _end_mm(facts: JointFacts, at_mm: tuple[float, ...]) -> float | None:
    """Distance of the first or last rivet from the joint's end, the smaller one."""
    if facts.opened_mm is None or not at_mm:
        return None
    low, high = facts.opened_mm
    return min(at_mm[0] - low, high - at_mm[-1])


@dataclass(frozen=True)
class _Parts:
    """The parts of one joint's answer before they are put together."""

    facts: JointFacts
    choice: RivetChoice
    count: Count
    positions: Positions
    bond: Bond
    confidence: float

    @property
    def rivet(self) -> Rivet | None:
        """The rivet."""
        return self.choice.rivet


def _strength(parts: _Parts) -> StrengthResult:
    facts, at = parts.facts, parts.positions.at_mm
    end = _end_mm(facts, at)
    place = Place(
        _edge_mm(facts),
        end if end is not None and end > 0.0 else None,
        pitch_of(at),
        rules_for(facts, parts.rivet).hole_mm,
    )
    return joint_strength(facts, parts.rivet, parts.count.count, place)


def _all_checks(parts: _Parts, result: StrengthResult) -> tuple[Check, ...]:
    facts, rivet, count = parts.facts, parts.rivet, parts.count
    found: list[Check | None] = []
    if count.origin is not Origin.NONE:
        found.append(geometry.count_check(facts, count.count))
    if rivet is not None:
        found += _rivet_checks(parts, rivet)
    if parts.positions.at_mm:
        found += _row_checks(parts)
    if rivet is not None:
        found += strengths.strength_checks(result.resistances, result.strength, count.count)
    found.append(strengths.metal_check(facts, rivet))
    found += strengths.bond_checks(facts, parts.bond.amount, working_overlap_mm(facts))
    return tuple(check for check in found if check is not None)


def _rivet_checks(parts: _Parts, rivet: Rivet) -> list[Check]:
    """What can be said of a rivet wherever it sits along the joint."""
    facts = parts.facts
    rules, edge = rules_for(facts, rivet), _edge_mm(facts)
    preferred = Rule(2.5 * rules.diameter_mm, references.EDGE_PREFERRED, weight=Weight.GUIDANCE)
    return [
        *geometry.grip_checks(facts, rivet, parts.confidence),
        *geometry.hole_checks(rivet),
        *geometry.edge_checks("edge distance", edge, rules, (preferred,)),
        geometry.head_check(edge, rules),
    ]


def _row_checks(parts: _Parts) -> list[Check]:
    """What can be said once the rivets have places."""
    facts, at = parts.facts, parts.positions.at_mm
    rules = rules_for(facts, parts.rivet)
    sheets = [layer.thickness_mm for layer in facts.layers if layer.thickness_mm]
    return [
        *geometry.edge_checks("distance from the joint's end", _end_mm(facts, at), rules),
        *geometry.pitch_checks(pitch_of(at), rules, min(sheets, default=None)),
        *geometry.room_checks(facts, at, rules),
    ]


def _weakest(origins: Origins) -> Origin:
    """The weakest word among rivet, count and adhesive; what is missing counts as a proposal."""
    three = (origins.rivet, origins.count, origins.adhesive)
    weakest = max(three, key=_WEAKEST_LAST.index)
    if weakest in {Origin.PROCEDURE, Origin.ASK}:
        return weakest
    return Origin.PROPOSAL


def _notes(parts: _Parts, result: StrengthResult) -> tuple[str, ...]:
    rivet, facts = parts.rivet, parts.facts
    hole = ""
    if rivet is not None and rivet.hole_mm is not None and rivet.hole_max_mm is not None:
        wide = f" to {rivet.hole_max_mm:.1f}" if rivet.hole_max_mm > rivet.hole_mm else ""
        hole = f"drill {rivet.hole_mm:.1f}{wide} mm, deburr both sides before the bead"
    middle = ""
    if (
        rivet is not None
        and facts.flange_mm is not None
        and not (facts.remake and facts.remake.edge)
    ):
        middle = "edge distance: the middle of the flange is taken, the procedure gives none"
    without = ""
    if rivet is not None and not parts.positions.at_mm and result.strength.new_kN is not None:
        without = "the places are not known: their distances are not in the strength"
    missing = [f"strength is left out: {words}" for words in result.missing]
    mandrel = strengths.mandrel_note(rivet) if rivet is not None else ""
    texts = [
        *facts.notes,
        *parts.choice.notes,
        *parts.positions.notes,
        *parts.bond.notes,
        hole,
        middle,
        mandrel,
        without,
        *missing,
    ]
    return tuple(dict.fromkeys(text for text in texts if text))


def _sources(parts: _Parts, result: StrengthResult) -> tuple[Source, ...]:
    spread = (references.SHEET_SPREAD, references.BOND_LINE_SPREAD)
    return merge(
        parts.choice.sources,
        parts.count.sources,
        parts.positions.sources,
        parts.bond.amount.sources if parts.bond.amount else (),
        spread if parts.facts.stack_mm is not None else (),
        result.sources,
    )


def _needs(parts: _Parts) -> tuple[Need, ...]:
    facts, rivet, count = parts.facts, parts.rivet, parts.count.count
    needs = []
    if rivet is not None and count:
        spare = max(math.ceil(settings.SPARE_FRACTION * count), settings.SPARE_LEAST)
        sources = merge(parts.choice.sources, parts.count.sources, (references.SPARE,))
        needs.append(
            Need(
                rivet.name, rivet.id, float(count + spare), "pieces", facts.joint.id, marks(sources)
            )
        )
    amount = parts.bond.amount
    if amount is not None:
        name = facts.adhesive.name if facts.adhesive else None
        item = name or amount.adhesive or "adhesive"
        needs.append(
            Need(
                item, amount.adhesive, amount.total_ml, "ml", facts.joint.id, marks(amount.sources)
            )
        )
    return tuple(needs)


def _answer(parts: _Parts, result: StrengthResult) -> JointAnswer:
    facts, at = parts.facts, parts.positions.at_mm
    origins = Origins(
        parts.choice.origin, parts.count.origin, parts.positions.origin, parts.bond.origin
    )
    sources = _sources(parts, result)
    old = facts.joint.old
    amount = parts.bond.amount
    return JointAnswer(
        id=facts.joint.id,
        kind=facts.joint.kind,
        layers=tuple(layer.name for layer in facts.layers),
        from_=_weakest(origins),
        origins=origins,
        rivet=parts.rivet,
        count=parts.count.count,
        at_mm=at,
        edge_mm=_edge_mm(facts) if parts.rivet is not None else None,
        pitch_mm=pitch_of(at),
        adhesive_ml=amount.total_ml if amount else None,
        strength=result.strength,
        checks=_all_checks(parts, result),
        layout=parts.positions.status,
        opened_mm=facts.opened_mm,
        length_mm=facts.length_mm,
        flange_mm=facts.flange_mm,
        stack_mm=facts.stack_mm,
        stack_u_mm=facts.stack_u_mm,
        stack_shares=largest(facts.stack_shares),
        old_at_mm=facts.old.at_mm,
        old_assumed=facts.old.assumed,
        old_diameter_mm=old.diameter.mm if old and old.diameter else None,
        avoid_mm=tuple((low.mm, high.mm) for low, high in facts.joint.avoid),
        adhesive=amount,
        asks=(*parts.choice.asks, *parts.count.asks, *parts.positions.asks, *parts.bond.asks),
        notes=_notes(parts, result),
        sources=sources,
        marks=marks(sources),
    )


def answer_joint(facts: JointFacts, rivets: tuple[Rivet, ...], confidence: float) -> JointResult:
    """How one joint is put back.

    Parameters
    ----------
    facts : JointFacts
    rivets : tuple of Rivet
        Those that the repair file declares.
    confidence : float
        Probability that a verdict must reach, 0.5 to 1 [–].

    Returns
    -------
    JointResult
        With problems only where the joint is concerned: given an old or new fastening, or a part
        of it is worked on.
    """
    choice, count = choose_rivet(facts, rivets), choose_count(facts)
    positions = place_rivets(facts, choice.rivet, count.count)
    parts = _Parts(facts, choice, count, positions, joint_bond(facts), confidence)
    result = _strength(parts)
    problems = (*facts.problems, *choice.problems, *count.problems, *positions.problems)
    return JointResult(_answer(parts, result), _needs(parts), problems if facts.concerned else ())
