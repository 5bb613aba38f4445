"""Which rivet closes a joint: the procedure's, else a proposal, else a question to the maker.

**The proposal.** First among the file's own rivets whose grip holds the stack: those at least as
strong as an old fastener before the others, then the diameter nearest to the old one, then the
metal nearest to the sheets on the anodic index, then the grip rule. Where none of them fits, a
size of ISO 15981 (aluminium alloy body and mandrel, the sheets' own family): of the diameters
between the thickest sheet and the size next above three times its thickness (AC 43.13-1B), the
one nearest to the old fastener, and where nobody knows that, the largest of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.joints import references
from panelwright.joints.answer import Origin, Rivet
from panelwright.joints.catalogue import rivet_in_words, rivet_of_fact, rivets_iso15981
from panelwright.joints.grip import choose_by_grip, grip_margin_mm
from panelwright.joints.metals import farthest_pair, metal_of
from panelwright.sources import Basis, Source, merge

if TYPE_CHECKING:
    from panelwright.facts.models.parts import Rivet as RivetFact
    from panelwright.joints.gather import JointFacts

_NOT_BLIND = ("solid", "self-piercing", "self piercing", "bolt", "screw")
"""Kinds that are never proposed: they need the other side, or are no rivet."""
_NOTHING_CLAMPS = (
    "no rivet of this file and none of ISO 15981 clamps {:.2f} mm; declare one that does as "
    "[[rivet]], or ask the maker"
)


@dataclass(frozen=True)
class RivetChoice:
    """The rivet of a joint and why.

    Parameters
    ----------
    rivet : Rivet or None
    origin : Origin
    asks, notes : tuple of str
    problems : tuple of Problem
    sources : tuple of Source
    """

    rivet: Rivet | None
    origin: Origin
    asks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    sources: tuple[Source, ...] = ()


def _from_procedure(facts: JointFacts, named: str, rivets: tuple[Rivet, ...]) -> RivetChoice:
    declared = next((rivet for rivet in rivets if named in {rivet.id, rivet.name}), None)
    if declared is not None:
        sources = merge((facts.procedure,), declared.sources)
        return RivetChoice(declared, Origin.PROCEDURE, sources=sources)
    rivet = rivet_in_words(named, facts.procedure)
    known = (
        f"diameter {rivet.diameter_mm:g} mm is read from its name; " if rivet.diameter_mm else ""
    )
    problem = Problem(
        f"{facts.where}.remake.rivet",
        f"{named!r} is no [[rivet]] of this file: {known}declare it with diameter, length, grip, "
        "shear and hole from its data sheet, so that grip and strength can be checked",
        hard=False,
    )
    return RivetChoice(rivet, Origin.PROCEDURE, problems=(problem,), sources=rivet.sources)


def _distance_V(rivet: Rivet, facts: JointFacts) -> float:
    """How far the rivet stands from the sheets on the anodic index; far where unknown."""
    metal = metal_of(rivet.material or rivet.kind)
    sheets = [metal_of(layer.material) for layer in facts.layers]
    pairs = [farthest_pair((metal, sheet)) for sheet in sheets if sheet and metal]
    return max((pair.difference_V for pair in pairs if pair), default=9.0)


def _from_file(facts: JointFacts, stack_mm: float, rivets: tuple[Rivet, ...]) -> Rivet | None:
    old = facts.joint.old
    strength_kN = old.strength.newtons / 1000.0 if old and old.strength else 0.0
    old_mm = old.diameter.mm if old and old.diameter else None
    fitting = [
        rivet
        for rivet in rivets
        if not any(word in rivet.kind.lower() for word in _NOT_BLIND)
        and (margin := grip_margin_mm(rivet, stack_mm)) is not None
        and margin >= 0.0
    ]
    if not fitting:
        return None

    def rank(rivet: Rivet) -> tuple[bool, float, float]:
        weaker = (rivet.shear_kN or 0.0) < strength_kN
        away = abs((rivet.diameter_mm or 0.0) - old_mm) if old_mm is not None else 0.0
        return (weaker, round(away, 6), _distance_V(rivet, facts))

    best = min(rank(rivet) for rivet in fitting)
    return choose_by_grip([rivet for rivet in fitting if rank(rivet) == best], stack_mm)


def proposed_diameter_mm(
    thickest_mm: float, old_mm: float | None, diameters_mm: tuple[float, ...]
) -> float | None:
    """Diameter to propose, by the rule at the head of this module.

    Parameters
    ----------
    thickest_mm : float
        Thickest sheet, > 0 [mm].
    old_mm : float or None
        Old fastener's diameter [mm].
    diameters_mm : tuple of float
        Those whose grip holds the stack, ascending [mm].

    Returns
    -------
    float or None
        None where there is nothing to choose from [mm].

    References
    ----------
    FAA AC 43.13-1B (1998), page 4-27 (seen): d about 3 t, next size up. Lower end: not below the
    thickest sheet (training text, seen).

    Examples
    --------
    >>> proposed_diameter_mm(1.2, 5.3, (3.0, 3.2, 4.0, 4.8, 5.0))
    4.0
    """
    above = [size for size in diameters_mm if size >= 3.0 * thickest_mm - 1e-9]
    most = above[0] if above else max(diameters_mm, default=0.0)
    usual = [size for size in diameters_mm if thickest_mm - 1e-9 <= size <= most]
    if not usual:
        return max(diameters_mm, default=None)
    if old_mm is None:
        return max(usual)
    return min(usual, key=lambda size: (abs(size - old_mm), -size))


def _from_standard(facts: JointFacts, stack_mm: float) -> Rivet | None:
    best = {
        rivet.diameter_mm: chosen
        for rivet in rivets_iso15981()
        if rivet.diameter_mm is not None
        and (
            chosen := choose_by_grip(
                [each for each in rivets_iso15981() if each.diameter_mm == rivet.diameter_mm],
                stack_mm,
            )
        )
    }
    old = facts.joint.old
    thickest = max(layer.thickness_mm or 0.0 for layer in facts.layers)
    old_mm = old.diameter.mm if old and old.diameter else None
    diameter = proposed_diameter_mm(thickest, old_mm, tuple(sorted(size for size in best if size)))
    return best[diameter] if diameter is not None else None


def _proposed(facts: JointFacts, rivets: tuple[Rivet, ...]) -> RivetChoice:
    if facts.stack_mm is None:
        return RivetChoice(
            None, Origin.MISSING, notes=("no rivet is proposed: the stack is not known",)
        )
    own = _from_file(facts, facts.stack_mm, rivets)
    if own is not None:
        source = Source(Basis.PROPOSAL, "rivet chosen among the file's own by grip and strength")
        note = f"{own.name} is proposed from the rivets of this file"
        return RivetChoice(
            own, Origin.PROPOSAL, notes=(note,), sources=merge((source,), own.sources)
        )
    chosen = _from_standard(facts, facts.stack_mm)
    if chosen is None:
        return RivetChoice(
            None,
            Origin.MISSING,
            notes=(_NOTHING_CLAMPS.format(facts.stack_mm),),
        )
    source = Source(Basis.PROPOSAL, "rivet of ISO 15981 chosen by grip and sheet thickness")
    note = f"{chosen.name} is proposed; no rivet of this file clamps the stack"
    return RivetChoice(
        chosen,
        Origin.PROPOSAL,
        notes=(note,),
        sources=merge((source, references.DIAMETER_AC43_13), chosen.sources),
    )


def _reversed_grips(rivets: tuple[Rivet, ...]) -> tuple[Problem, ...]:
    return tuple(
        Problem(
            f"rivet[{number}].grip",
            f"{rivet.grip_min_mm:g} to {rivet.grip_max_mm:g} mm of {rivet.id!r} ends before it "
            "starts; write the least stack first",
            hard=False,
        )
        for number, rivet in enumerate(rivets)
        if rivet.grip_min_mm is not None
        and rivet.grip_max_mm is not None
        and rivet.grip_min_mm > rivet.grip_max_mm
    )


def choose_rivet(facts: JointFacts, rivets: tuple[Rivet, ...]) -> RivetChoice:
    """The rivet of one joint.

    Parameters
    ----------
    facts : JointFacts
    rivets : tuple of Rivet
        Those that the repair file declares.

    Returns
    -------
    RivetChoice
    """
    named = facts.remake.rivet if facts.remake else None
    if named:
        return _from_procedure(facts, named, rivets)
    if facts.joint.kind != "rivet-bond":
        return RivetChoice(None, Origin.NONE)
    if facts.structural:
        ask = "which rivet: the joint is structural and the procedure names none"
        return RivetChoice(None, Origin.ASK, asks=(ask,))
    return _proposed(facts, rivets)


def declared_rivets(facts: tuple[RivetFact, ...]) -> tuple[tuple[Rivet, ...], tuple[Problem, ...]]:
    """The repair file's rivets, with a problem for each whose grip cannot be.

    Parameters
    ----------
    facts : tuple of Rivet
        Entries of the repair file.

    Returns
    -------
    tuple of (tuple of Rivet, tuple of Problem)
    """
    rivets = tuple(rivet_of_fact(fact) for fact in facts)
    return rivets, _reversed_grips(rivets)
