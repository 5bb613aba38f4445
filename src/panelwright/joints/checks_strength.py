"""Strength, metals and bond held against the rules for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.joints import references
from panelwright.joints.amount import squeeze_ratio
from panelwright.joints.answer_parts import (
    AdhesiveAmount,
    Check,
    Relation,
    Rivet,
    Strength,
    Weight,
)
from panelwright.joints.judge import Rule, judge
from panelwright.joints.metals import (
    CONTROLLED_V,
    HARSH_V,
    NORMAL_V,
    Pair,
    farthest_pair,
    metal_by_key,
    metal_of,
)
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts
    from panelwright.joints.resistances import Resistance

_MOST = Relation.AT_MOST
_GUIDANCE, _INFORMATION = Weight.GUIDANCE, Weight.INFORMATION


def strength_checks(
    resistances: tuple[Resistance, ...], strength: Strength, count: int | None
) -> list[Check]:
    """Each resistance of one rivet against its share of the old joint, and the whole joint.

    Parameters
    ----------
    resistances : tuple of Resistance
    strength : Strength
    count : int or None
        New rivets.

    Returns
    -------
    list of Check
    """
    share = strength.old_kN / count if strength.old_kN is not None and count else None
    note = "" if share is not None else "no old strength given to compare with"
    checks = [
        judge(
            f"one rivet: {each.what}",
            each.newtons / 1000.0,
            Rule(share, each.source, weight=_GUIDANCE, outside="" if each.valid else each.note),
            "kN",
            note=each.note if each.valid and each.note else note,
        )
        for each in resistances
    ]
    checks.append(
        judge(
            "rivets alone against the old ones",
            strength.ratio,
            Rule(1.0, references.STIFF_BOND, weight=_GUIDANCE),
            note="the bond is not in it; below 1 the joint relies on the bond: prepare and cure it "
            "by the book",
        )
    )
    return checks


def metal_pair(facts: JointFacts, rivet: Rivet | None) -> Pair | None:
    """The two metals of the joint that stand farthest apart.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet or None

    Returns
    -------
    Pair or None
        None where fewer than two are known.
    """
    known = [metal_of(layer.material) for layer in facts.layers]
    if rivet is not None:
        known.append(metal_of(rivet.material or rivet.kind))
    return farthest_pair(tuple(metal for metal in known if metal is not None))


def metal_check(facts: JointFacts, rivet: Rivet | None) -> Check | None:
    """The metals that stand farthest apart, against harsh surroundings.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet or None

    Returns
    -------
    Check or None
        None where fewer than two metals are known.
    """
    pair = metal_pair(facts, rivet)
    if pair is None:
        return None
    difference = pair.difference_V
    others = f"normal surroundings {NORMAL_V:.2f} V, controlled {CONTROLLED_V:.2f} V"
    words = [f"{pair.one.name} with {pair.other.name} ({others})"]
    if pair.matrix_says_incompatible:
        words.append(f"{references.GALVANIC_MATRIX.text}: isolate and seal")
    words.append("within the limit does not mean that nothing need be isolated, coated or sealed")
    rule = Rule(HARSH_V, load("anodic_index").source, _MOST, _GUIDANCE)
    return judge("metals in contact, anodic index", difference, rule, "V", note="; ".join(words))


def mandrel_note(rivet: Rivet) -> str:
    """What stays in the rivet besides its body, where its material says so.

    Parameters
    ----------
    rivet : Rivet

    Returns
    -------
    str
        Empty where nothing is to be said.
    """
    _, slash, mandrel = rivet.material.partition("/")
    metal = metal_of(mandrel) if slash else None
    if metal is None or metal.key == metal_by_key("aluminium").key:
        return ""
    return f"the mandrel that stays in the rivet is {metal.name}: seal the blind side"


def bond_checks(
    facts: JointFacts, amount: AdhesiveAmount | None, overlap_mm: float | None
) -> list[Check]:
    """Whether the bead fills the bond line, and how much of the overlap works.

    Parameters
    ----------
    facts : JointFacts
    amount : AdhesiveAmount or None
    overlap_mm : float or None
        Overlap that works [mm].

    Returns
    -------
    list of Check
    """
    checks = []
    if amount is not None and facts.flange_mm is not None:
        squeeze = squeeze_ratio(amount.bead, facts.flange_mm, facts.bond_line_mm)
        rule = Rule(1.0, references.SQUEEZE_OUT, weight=_GUIDANCE)
        note = "seen at both edges when the panel is closed, tooled, not wiped out"
        checks.append(judge("bead against bond line", squeeze, rule, note=note))
    if overlap_mm is not None:
        rule = Rule(overlap_mm, references.OVERLAP, weight=_INFORMATION)
        note = "overlap beyond it adds almost no strength"
        checks.append(judge("overlap that works", facts.flange_mm, rule, "mm", note=note))
    return checks
