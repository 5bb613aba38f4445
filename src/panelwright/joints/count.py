"""How many rivets: the procedure's word, else as many as there were."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.joints import references
from panelwright.joints.answer_parts import Origin
from panelwright.joints.gather import RIVETED
from panelwright.sources import Source

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts


@dataclass(frozen=True)
class Count:
    """How many rivets, on whose word, and what stands in the way."""

    count: int | None
    origin: Origin
    asks: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    sources: tuple[Source, ...] = ()


def choose_count(facts: JointFacts) -> Count:
    """How many rivets a joint gets.

    Parameters
    ----------
    facts : JointFacts

    Returns
    -------
    Count
        The procedure's number; on a structural joint without one, none; else the old number.
    """
    remake = facts.remake
    if remake and remake.count is not None:
        return Count(remake.count, Origin.PROCEDURE, sources=(facts.procedure,))
    if remake and remake.at:
        return Count(len(remake.at), Origin.PROCEDURE, sources=(facts.procedure,))
    if facts.joint.kind != RIVETED and not (remake and remake.rivet):
        return Count(0, Origin.NONE)
    if facts.structural:
        ask = "how many rivets: the joint is structural and the procedure gives no number"
        return Count(None, Origin.ASK, asks=(ask,))
    if facts.old_count is not None:
        return Count(facts.old_count, Origin.PROPOSAL, sources=(references.ONE_FOR_ONE,))
    problem = Problem(
        f"{facts.where}.old.count",
        f"nobody has counted the old rivets of {facts.joint.label!r}; count them on the old flange "
        "or on the other side of the vehicle and give old = { count = 15 }",
        hard=False,
    )
    return Count(None, Origin.MISSING, problems=(problem,) if facts.concerned else ())
