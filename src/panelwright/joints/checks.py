"""Each figure of a joint held against each rule, with the rule's clause and range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.joints import references, settings
from panelwright.joints.answer import (
    AdhesiveAmount,
    Check,
    Pitch,
    Relation,
    Rivet,
    Strength,
    Weight,
)
from panelwright.joints.grip import chance_in_grip
from panelwright.joints.metals import (
    CONTROLLED_V,
    HARSH_V,
    NORMAL_V,
    Pair,
    farthest_pair,
    metal_by_key,
    metal_of,
)
from panelwright.sources import Source
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts
    from panelwright.joints.positions import Rules
    from panelwright.joints.strength import Resistance

_SLACK = 1e-6
_MOST = Relation.AT_MOST
_GUIDANCE, _INFORMATION = Weight.GUIDANCE, Weight.INFORMATION


@dataclass(frozen=True)
class Rule:
    """A limit with its source; `outside` says why it does not apply here, empty where it does."""

    limit: float | None
    source: Source | str
    relation: Relation = Relation.AT_LEAST
    weight: Weight = Weight.LIMIT
    outside: str = ""


def judge(what: str, value: float | None, rule: Rule, unit: str = "", note: str = "") -> Check:
    """Hold one value against one rule.

    Parameters
    ----------
    what : str
    value : float or None
        In `unit`.
    rule : Rule
    unit : str
    note : str

    Returns
    -------
    Check
        ok None where value or limit is not known, the rule does not apply, or it only informs.
    """
    ok: bool | None = None
    judged = not rule.outside and rule.weight is not Weight.INFORMATION
    if judged and value is not None and rule.limit is not None:
        slack = _SLACK * max(1.0, abs(rule.limit))
        more = value >= rule.limit - slack
        less = value <= rule.limit + slack
        ok = more if rule.relation is Relation.AT_LEAST else less
    words = "; ".join(part for part in (rule.outside, note) if part)
    source = str(rule.source)
    valid = not rule.outside
    return Check(
        what, value, rule.limit, ok, source, unit, rule.relation, rule.weight, valid, words
    )


def grip_checks(facts: JointFacts, rivet: Rivet, confidence: float) -> list[Check]:
    """Whether the rivet's grip holds the stack, and how surely."""
    source = rivet.sources[0] if rivet.sources else "not declared"
    chance = None
    if facts.stack_mm is not None and facts.stack_u_mm is not None:
        chance = chance_in_grip(rivet, facts.stack_mm, facts.stack_u_mm)
    missing = "" if rivet.grip_min_mm is not None else "the rivet's grip is not declared"
    spread = f"{references.SHEET_SPREAD}; {references.BOND_LINE_SPREAD}"
    return [
        judge(
            "stack within grip, low end",
            facts.stack_mm,
            Rule(rivet.grip_min_mm, source),
            "mm",
            note=missing,
        ),
        judge(
            "stack within grip, high end",
            facts.stack_mm,
            Rule(rivet.grip_max_mm, source, _MOST),
            "mm",
            note=missing,
        ),
        judge(
            "chance that the real stack is within grip",
            chance,
            Rule(confidence, spread, weight=_GUIDANCE),
            note="below the limit: clamp the stack, measure it with a caliper, set a trial rivet",
        ),
    ]


def hole_checks(rivet: Rivet) -> list[Check]:
    """The declared hole against the series' own."""
    if rivet.diameter_mm is None or rivet.hole_mm is None:
        return []
    source = load("blind_rivet_size").source
    d = rivet.diameter_mm
    note = "the rivet's data sheet governs"
    return [
        judge(
            "drilled hole",
            rivet.hole_mm,
            Rule(d + settings.HOLE_OVER_DIAMETER_MM, source, weight=_GUIDANCE),
            "mm",
            note=note,
        ),
        judge(
            "drilled hole",
            rivet.hole_mm,
            Rule(
                d + settings.HOLE_OVER_DIAMETER_MM + settings.HOLE_SPREAD_MM,
                source,
                _MOST,
                _GUIDANCE,
            ),
            "mm",
            note=note,
        ),
    ]


def edge_checks(what: str, value: float | None, rules: Rules, *, preferred: bool) -> list[Check]:
    """One distance from an edge or end against every rule there is for it."""
    d, d0 = rules.diameter_mm, rules.hole_mm
    held = [
        Rule(1.2 * d0, references.EDGE_EN1993_1_8),
        Rule(1.5 * d, references.BLIND_RIVET_EN1993_1_3),
        Rule(2.0 * d, references.EDGE_AC43_13, weight=_GUIDANCE),
    ]
    if preferred:
        held.append(Rule(2.5 * d, references.EDGE_PREFERRED, weight=_GUIDANCE))
    return [judge(what, value, rule, "mm") for rule in held]


def pitch_checks(pitch: Pitch, rules: Rules, thinnest_mm: float | None) -> list[Check]:
    """Least and largest pitch against every rule there is for them."""
    d, d0 = rules.diameter_mm, rules.hole_mm
    buckling = min(14.0 * thinnest_mm, 200.0) if thinnest_mm else None
    bonded = "the bond between the rivets holds the sheets together"
    return [
        judge("smallest pitch", pitch.min, Rule(2.2 * d0, references.PITCH_EN1999_1_1), "mm"),
        judge("smallest pitch", pitch.min, Rule(3.0 * d, references.BLIND_RIVET_EN1993_1_3), "mm"),
        judge(
            "smallest pitch, usual",
            pitch.min,
            Rule(4.0 * d, references.PITCH_AC43_13, weight=_GUIDANCE),
            "mm",
        ),
        judge(
            "largest pitch, usual",
            pitch.max,
            Rule(6.0 * d, references.PITCH_AC43_13, _MOST, _INFORMATION),
            "mm",
            note=bonded,
        ),
        judge(
            "largest pitch",
            pitch.max,
            Rule(8.0 * d, references.PITCH_AC43_13, _MOST, _GUIDANCE),
            "mm",
            note=f"riveted only; {bonded}",
        ),
        judge(
            "largest pitch, sheet in compression",
            pitch.max,
            Rule(buckling, references.LARGEST_PITCH_EN1999_1_1, _MOST, _INFORMATION),
            "mm",
            note=f"riveted only; {bonded}",
        ),
    ]


def _gap_to(place: float, stretch: tuple[float, float]) -> float:
    low, high = min(stretch), max(stretch)
    return max(low - place, place - high)


def room_checks(facts: JointFacts, at_mm: tuple[float, ...], rules: Rules) -> list[Check]:
    """Heads off the stretches to avoid, rivets off the old holes, heads on the flange."""
    checks = []
    stretches = [(low.mm, high.mm) for low, high in facts.joint.avoid]
    if stretches and at_mm:
        free = min(_gap_to(x, stretch) for x in at_mm for stretch in stretches)
        rule = Rule(0.0, f"avoid of joint {facts.joint.label}, half a head added")
        checks.append(judge("heads off stretches to avoid", free - rules.head_mm / 2.0, rule, "mm"))
    if facts.old.at_mm and at_mm:
        nearest = min(abs(x - old) for x in at_mm for old in facts.old.at_mm)
        rule = Rule(rules.old_clearance_mm, references.OLD_HOLE, weight=_GUIDANCE)
        note = "old places are assumed: measure them" if facts.old.assumed else ""
        checks.append(judge("distance from old holes", nearest, rule, "mm", note=note))
    return checks


def head_check(edge_mm: float | None, rules: Rules) -> Check:
    """Whether the flange holds the whole head."""
    rule = Rule(rules.head_mm / 2.0, "the whole head must lie on the flange: geometry")
    note = "the flange's bend radius is not in it"
    return judge("flange holds the head", edge_mm, rule, "mm", note=note)


def count_check(facts: JointFacts, count: int | None) -> Check:
    """Never fewer than the old ones."""
    rule = Rule(
        float(facts.old_count) if facts.old_count is not None else None,
        "never fewer than the old count (the program's own rule; the procedure governs)",
    )
    return judge("number of rivets", float(count) if count is not None else None, rule)


def strength_checks(
    resistances: tuple[Resistance, ...], strength: Strength, count: int | None
) -> list[Check]:
    """Each resistance of one rivet against its share of the old joint, and the whole joint."""
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
    """The two metals of the joint that stand farthest apart; None where none is known."""
    known = [metal_of(layer.material) for layer in facts.layers]
    if rivet is not None:
        known.append(metal_of(rivet.material or rivet.kind))
    return farthest_pair(tuple(metal for metal in known if metal is not None))


def metal_check(facts: JointFacts, rivet: Rivet | None) -> Check | None:
    """The metals that stand farthest apart, against harsh surroundings."""
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
    """What stays in the rivet besides its body, where its material says so."""
    _, slash, mandrel = rivet.material.partition("/")
    metal = metal_of(mandrel) if slash else None
    if metal is None or metal.key == metal_by_key("aluminium").key:
        return ""
    return f"the mandrel that stays in the rivet is {metal.name}: seal the blind side"


def bond_checks(
    facts: JointFacts, amount: AdhesiveAmount | None, squeeze: float | None, overlap: float | None
) -> list[Check]:
    """Whether the bead fills the bond line, and how much of the overlap works."""
    checks = []
    if amount is not None:
        rule = Rule(1.0, references.SQUEEZE_OUT, weight=_GUIDANCE)
        note = "seen at both edges when the panel is closed, tooled, not wiped out"
        checks.append(judge("bead against bond line", squeeze, rule, note=note))
    if overlap is not None:
        rule = Rule(overlap, references.OVERLAP, weight=_INFORMATION)
        note = "overlap beyond it adds almost no strength"
        checks.append(judge("overlap that works", facts.flange_mm, rule, "mm", note=note))
    return checks
