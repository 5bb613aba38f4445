"""One joint answered: rivet, number, places, adhesive, strength and checks put together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.joints import checks, references, settings
from panelwright.joints.amount import BondLine, adhesive_amount, squeeze_ratio
from panelwright.joints.answer import (
    AdhesiveAmount,
    Check,
    JointAnswer,
    Need,
    Origin,
    Origins,
    Rivet,
)
from panelwright.joints.choice import RivetChoice, choose_rivet
from panelwright.joints.lap import Lap, shear_lag_volkersen
from panelwright.joints.positions import (
    Count,
    Positions,
    choose_count,
    pitch_of,
    place_rivets,
    rules_for,
)
from panelwright.joints.strength import Place, StrengthResult, joint_strength
from panelwright.sources import Source, marks, merge

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


@dataclass(frozen=True)
class _Bond:
    """Adhesive of a joint: on whose word, how much, what to ask."""

    origin: Origin
    amount: AdhesiveAmount | None
    asks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def _bond(facts: JointFacts) -> _Bond:
    named = facts.remake.adhesive if facts.remake else None
    if facts.structural and named is None:
        return _Bond(
            Origin.ASK, None, ("which adhesive: the joint is structural and none is named",)
        )
    origin = Origin.PROCEDURE if named else Origin.PROPOSAL if facts.adhesive else Origin.MISSING
    notes = (
        () if facts.adhesive else ("no adhesive of the file is meant: declare it as [[adhesive]]",)
    )
    if facts.opened_mm is None or facts.flange_mm is None:
        return _Bond(origin, None, notes=notes)
    low, high = facts.opened_mm
    line = BondLine(
        length_mm=high - low,
        flange_mm=facts.flange_mm,
        thickness_mm=facts.bond_line_mm,
        lines=facts.lines,
        adhesive=facts.adhesive.id if facts.adhesive else named or "",
        source=facts.bond_line_source,
    )
    return _Bond(origin, adhesive_amount(line), notes=notes)


def working_overlap_mm(facts: JointFacts) -> float | None:
    """Overlap beyond which a bond gains almost nothing, 6/ω of the slowest pair of sheets.

    Parameters
    ----------
    facts : JointFacts

    Returns
    -------
    float or None
        [mm]; None where a thickness or the flange is not known.

    References
    ----------
    Volkersen (1938) in public lecture notes (seen); G of a representative paste (seen), E of body
    sheet (seen).
    """
    sheets = [layer.thickness_mm for layer in facts.layers]
    known = [thickness for thickness in sheets if thickness is not None]
    if facts.flange_mm is None or len(known) < max(len(sheets), 2):
        return None
    modulus, paste = settings.SHEET_MODULUS_MPA, settings.PASTE_SHEAR_MODULUS_MPA
    laps = [
        Lap(modulus, modulus, one, other, paste, facts.bond_line_mm, facts.flange_mm)
        for one, other in pairwise(known)
    ]
    return max(6.0 / shear_lag_volkersen(lap) for lap in laps)


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
    bond: _Bond
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
    facts, rivet, at = parts.facts, parts.rivet, parts.positions.at_mm
    rules = rules_for(facts, rivet)
    found: list[Check | None] = []
    if parts.count.origin is not Origin.NONE:
        found.append(checks.count_check(facts, parts.count.count))
    if rivet is not None:
        found += checks.grip_checks(facts, rivet, parts.confidence) + checks.hole_checks(rivet)
        edge = _edge_mm(facts)
        found += checks.edge_checks("edge distance", edge, rules, preferred=True)
        found.append(checks.head_check(edge, rules))
    if at:
        end = _end_mm(facts, at)
        found += checks.edge_checks("distance from the joint's end", end, rules, preferred=False)
        sheets = [layer.thickness_mm for layer in facts.layers if layer.thickness_mm]
        found += checks.pitch_checks(pitch_of(at), rules, min(sheets, default=None))
        found += checks.room_checks(facts, at, rules)
    if rivet is not None:
        found += checks.strength_checks(result.resistances, result.strength, parts.count.count)
    found.append(checks.metal_check(facts, rivet))
    amount = parts.bond.amount
    squeeze = (
        squeeze_ratio(amount.bead, facts.flange_mm, facts.bond_line_mm)
        if amount is not None and facts.flange_mm is not None
        else None
    )
    found += checks.bond_checks(facts, amount, squeeze, working_overlap_mm(facts))
    return tuple(check for check in found if check is not None)


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
    mandrel = checks.mandrel_note(rivet) if rivet is not None else ""
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
        Probability that a verdict must reach, 0.5 to 1.

    Returns
    -------
    JointResult
        With problems only where the joint is concerned: given an old or new fastening, or a part
        of it is worked on.
    """
    choice, count = choose_rivet(facts, rivets), choose_count(facts)
    positions = place_rivets(facts, choice.rivet, count.count)
    parts = _Parts(facts, choice, count, positions, _bond(facts), confidence)
    result = _strength(parts)
    problems = (*facts.problems, *choice.problems, *count.problems, *positions.problems)
    return JointResult(_answer(parts, result), _needs(parts), problems if facts.concerned else ())
