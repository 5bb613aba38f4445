"""What this room answers: how each joint is put back, and what that rests on."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.facts.problem import Problem
from panelwright.joints.answer_parts import (
    AdhesiveAmount,
    Band,
    Bead,
    Check,
    LayoutStatus,
    Origin,
    Pitch,
    Relation,
    Rivet,
    Strength,
    Weight,
)
from panelwright.sources import Source

__all__ = [
    "AdhesiveAmount",
    "Band",
    "Bead",
    "Check",
    "JointAnswer",
    "JointsAnswer",
    "LayoutStatus",
    "Need",
    "Origin",
    "Origins",
    "OtherJoint",
    "Pitch",
    "Relation",
    "Rivet",
    "Strength",
    "Weight",
]


@dataclass(frozen=True)
class Origins:
    """On whose word each part of one joint stands."""

    rivet: Origin
    count: Origin
    positions: Origin
    adhesive: Origin


@dataclass(frozen=True)
class JointAnswer:
    """How one joint is put back.

    Parameters
    ----------
    id, kind : str
        The joint's key and kind in the repair file.
    layers : tuple of str
        Names of the sheets, outermost first.
    from_ : Origin
        Weakest word among rivet, count and adhesive: procedure, proposal or ask-the-maker.
    origins : Origins
        The same, part by part; positions have their own.
    rivet : Rivet or None
    count : int or None
        Number of rivets; 0 for a joint that is only bonded.
    at_mm : tuple of float
        Positions along the joint from its start, ascending [mm].
    edge_mm : float or None
        From the rivet's centre to the flange's edge [mm].
    pitch_mm : Pitch
    adhesive_ml : float or None
        Bond lines, squeeze-out and first mix together [ml].
    strength : Strength
    checks : tuple of Check
    layout : LayoutStatus
    opened_mm : (float, float) or None
        From where to where along the joint it is remade; all of it unless a part is sectioned.
    length_mm, flange_mm, stack_mm, stack_u_mm : float or None
        Whole length, overlap, sheets with bond lines and their standard uncertainty [mm].
    stack_shares : tuple of (str, float)
        Which inputs the stack's spread comes from, largest first, as fractions of its variance.
    old_at_mm : tuple of float
        Old positions [mm]; `old_assumed` where only their number was known and they were
        spread evenly.
    old_assumed : bool
    old_diameter_mm : float or None
    avoid_mm : tuple of (float, float)
        Stretches that stay free of rivets [mm].
    adhesive : AdhesiveAmount or None
    asks : tuple of str
        What the maker must be asked, in words.
    notes : tuple of str
        What was decided and why, in words.
    sources : tuple of Source
        Every source used.
    marks : tuple of str
        Marks that travel with the answer: proposal, from memory, common practice.
    """

    id: str
    kind: str
    layers: tuple[str, ...]
    from_: Origin
    origins: Origins
    rivet: Rivet | None
    count: int | None
    at_mm: tuple[float, ...]
    edge_mm: float | None
    pitch_mm: Pitch
    adhesive_ml: float | None
    strength: Strength
    checks: tuple[Check, ...]
    layout: LayoutStatus
    opened_mm: tuple[float, float] | None
    length_mm: float | None
    flange_mm: float | None
    stack_mm: float | None
    stack_u_mm: float | None
    stack_shares: tuple[tuple[str, float], ...]
    old_at_mm: tuple[float, ...]
    old_assumed: bool
    old_diameter_mm: float | None
    avoid_mm: tuple[tuple[float, float], ...]
    adhesive: AdhesiveAmount | None
    asks: tuple[str, ...]
    notes: tuple[str, ...]
    sources: tuple[Source, ...]
    marks: tuple[str, ...]


@dataclass(frozen=True)
class OtherJoint:
    """A joint that is neither riveted nor bonded, with the reason it has no answer here."""

    id: str
    kind: str
    why: str


@dataclass(frozen=True)
class Need:
    """Something the joints use up, for the parts list.

    Parameters
    ----------
    item : str
        What, in words.
    id : str
        Rivet or adhesive key; empty where the file has none.
    quantity : float
        How much, spare included.
    unit : str
        ``pieces`` or ``ml``.
    joint : str
        For which joint; the parts list adds up those that are opened.
    marks : tuple of str
    """

    item: str
    id: str
    quantity: float
    unit: str
    joint: str
    marks: tuple[str, ...]


@dataclass(frozen=True)
class JointsAnswer:
    """How every riveted or bonded joint of a repair is put back.

    Parameters
    ----------
    joints : tuple of JointAnswer
        In the order of the file.
    others : tuple of OtherJoint
        Bolted, welded, hemmed and sleeved joints: followed by the procedure alone.
    needs : tuple of Need
        Rivets and adhesive for the parts list.
    cautions : tuple of str
        What to guard against while drilling, bonding and riveting.
    problems : tuple of Problem
        What is missing or does not fit, with its place.
    disclaimer : str
    """

    joints: tuple[JointAnswer, ...]
    others: tuple[OtherJoint, ...]
    needs: tuple[Need, ...]
    cautions: tuple[str, ...]
    problems: tuple[Problem, ...]
    disclaimer: str = (
        "An aid, not an approval. Follow the maker's procedure, local codes and licensed practice; "
        "a computed value never overrides the procedure."
    )
