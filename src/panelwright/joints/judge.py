"""One value held against one rule."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.joints.answer_parts import Check, Relation, Weight
from panelwright.sources import Source

_SLACK = 1e-6


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
