"""Number, grip, hole, edge, pitch and room held against the rules for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.joints import references, settings
from panelwright.joints.answer_parts import Check, Pitch, Relation, Rivet, Weight
from panelwright.joints.grip import chance_in_grip
from panelwright.joints.judge import Rule, judge
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts
    from panelwright.joints.rules import Rules

_MOST = Relation.AT_MOST
_GUIDANCE, _INFORMATION = Weight.GUIDANCE, Weight.INFORMATION


def grip_checks(facts: JointFacts, rivet: Rivet, confidence: float) -> list[Check]:
    """Whether the rivet's grip holds the stack, and how surely.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet
    confidence : float
        Probability that a verdict must reach, 0.5 to 1 [–].

    Returns
    -------
    list of Check
    """
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
    """The declared hole against the series' own.

    Parameters
    ----------
    rivet : Rivet

    Returns
    -------
    list of Check
        Empty where diameter or hole is not known.
    """
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


def edge_checks(
    what: str, value_mm: float | None, rules: Rules, others: tuple[Rule, ...] = ()
) -> list[Check]:
    """One distance from an edge or end against every rule there is for it.

    Parameters
    ----------
    what : str
        Which distance.
    value_mm : float or None
        [mm].
    rules : Rules
    others : tuple of Rule
        Further rules for this distance.

    Returns
    -------
    list of Check
    """
    d, d0 = rules.diameter_mm, rules.hole_mm
    held = (
        Rule(1.2 * d0, references.EDGE_EN1993_1_8),
        Rule(1.5 * d, references.BLIND_RIVET_EN1993_1_3),
        Rule(2.0 * d, references.EDGE_AC43_13, weight=_GUIDANCE),
        *others,
    )
    return [judge(what, value_mm, rule, "mm") for rule in held]


def pitch_checks(pitch: Pitch, rules: Rules, thinnest_mm: float | None) -> list[Check]:
    """Least and largest pitch against every rule there is for them.

    Parameters
    ----------
    pitch : Pitch
    rules : Rules
    thinnest_mm : float or None
        Thinnest sheet [mm].

    Returns
    -------
    list of Check
    """
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
    """Heads off the stretches to avoid, rivets off the old holes.

    Parameters
    ----------
    facts : JointFacts
    at_mm : tuple of float
        Positions [mm].
    rules : Rules

    Returns
    -------
    list of Check
    """
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
    """Whether the flange holds the whole head.

    Parameters
    ----------
    edge_mm : float or None
        Edge distance [mm].
    rules : Rules

    Returns
    -------
    Check
    """
    rule = Rule(rules.head_mm / 2.0, "the whole head must lie on the flange: geometry")
    note = "the flange's bend radius is not in it"
    return judge("flange holds the head", edge_mm, rule, "mm", note=note)


def count_check(facts: JointFacts, count: int | None) -> Check:
    """Never fewer than the old ones.

    Parameters
    ----------
    facts : JointFacts
    count : int or None
        New rivets.

    Returns
    -------
    Check
    """
    rule = Rule(
        float(facts.old_count) if facts.old_count is not None else None,
        "never fewer than the old count (the program's own rule; the procedure governs)",
    )
    return judge("number of rivets", float(count) if count is not None else None, rule)
