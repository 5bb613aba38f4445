"""Parts of this room's answer: rivet, adhesive, strength, checks, and on whose word they stand."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panelwright.sources import Source


class Origin(StrEnum):
    """On whose word a part of the answer stands."""

    PROCEDURE = "procedure"
    PROPOSAL = "proposal"
    ASK = "ask-the-maker"
    MISSING = "missing"
    NONE = "not needed"


class Weight(StrEnum):
    """How binding the limit of a check is."""

    LIMIT = "limit"
    GUIDANCE = "guidance"
    INFORMATION = "information"


class Relation(StrEnum):
    """On which side of its limit a value is good."""

    AT_LEAST = "at least"
    AT_MOST = "at most"


class LayoutStatus(StrEnum):
    """How the positions came about."""

    GIVEN = "given"
    WIDE = "wide rules kept"
    MINIMUM = "minimum rules kept"
    INFEASIBLE = "infeasible"
    NONE = "no positions"


@dataclass(frozen=True)
class Check:
    """One figure of a joint held against one rule.

    Parameters
    ----------
    what : str
        What is checked, in words.
    value, limit : float or None
        In `unit`; None where it cannot be said.
    ok : bool or None
        None: not judged, because a figure is missing or the rule is used outside its validity.
    source : str
        Clause, table or rule, with its mark.
    unit : str
        Unit of value and limit, empty for a ratio or a count.
    relation : Relation
        Whether the value must be at least or at most the limit.
    weight : Weight
        Limit: breaking it is a fault. Guidance: other trades' or preferred practice.
        Information: no judgement follows from it.
    valid : bool
        False where the rule is used outside its range of validity.
    note : str
        Why it is not judged, what it covers, what to do.
    """

    what: str
    value: float | None
    limit: float | None
    ok: bool | None
    source: str
    unit: str = ""
    relation: Relation = Relation.AT_LEAST
    weight: Weight = Weight.LIMIT
    valid: bool = True
    note: str = ""


@dataclass(frozen=True)
class Pitch:
    """Smallest and largest distance between neighbouring rivets [mm]; None with fewer than two."""

    min: float | None
    max: float | None


@dataclass(frozen=True)
class Band:
    """A low and a high end."""

    low: float
    high: float


@dataclass(frozen=True)
class Strength:
    """Shear strength of the rivets against the old ones; the bond stands beside it, never added.

    Parameters
    ----------
    old_kN : float or None
        Strength of one old fastener times their number; None where the file gives none.
    new_kN : float or None
        Number of rivets times the lowest resistance of one [kN], partial factors taken off.
    ratio : float or None
        new_kN / old_kN.
    governs : str
        What the lowest resistance is: the rivet's shear or a sheet's bearing, by which rule.
    new_characteristic_kN : float or None
        The same without partial factors.
    old_estimate_kN : Band or None
        Where the old strength is not given: what the old sheets could bear.
    ratio_estimate : Band or None
        new_kN against that band.
    bond_kN : float or None
        Overlap area times the data sheet's lap shear strength at full cure. First failure of a
        stiff bond is not raised by rivets, so it is not added to `new_kN`.
    notes : tuple of str
        Sheets and tempers taken, and what the figures do not say.
    """

    old_kN: float | None
    new_kN: float | None
    ratio: float | None
    governs: str = ""
    new_characteristic_kN: float | None = None
    old_estimate_kN: Band | None = None
    ratio_estimate: Band | None = None
    bond_kN: float | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rivet:
    """The rivet that closes a joint.

    Parameters
    ----------
    id : str
        Key in the repair file, or the standard's designation such as ``ISO 15981 4.8 × 8``.
    name : str
        As it is called.
    diameter_mm, length_mm, grip_min_mm, grip_max_mm, head_mm, hole_mm, hole_max_mm : float or None
        Nominal body diameter, length, grip range, head diameter, drilled hole from–to [mm].
    shear_kN, tension_kN : float or None
        Declared strength of one rivet [kN].
    material, kind : str
        In words; empty where nobody says.
    sources : tuple of Source
        On whose word its figures stand.
    """

    id: str
    name: str
    diameter_mm: float | None
    length_mm: float | None
    grip_min_mm: float | None
    grip_max_mm: float | None
    head_mm: float | None
    hole_mm: float | None
    hole_max_mm: float | None
    shear_kN: float | None
    tension_kN: float | None
    material: str
    kind: str
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Bead:
    """One bead that fills the bond line with squeeze-out, rounded up to a tenth of a millimetre.

    Parameters
    ----------
    area_mm2 : float
        Cross-section that is needed [mm²].
    round_mm : float
        Diameter of a round bead [mm].
    triangle_mm : float
        Height and base of a triangular bead [mm].
    """

    area_mm2: float
    round_mm: float
    triangle_mm: float


@dataclass(frozen=True)
class AdhesiveAmount:
    """How much adhesive one joint takes.

    Parameters
    ----------
    adhesive : str
        Key in the repair file; empty where none is named.
    bond_line_mm : float
        Thickness of one bond line [mm].
    line_ml, squeeze_ml, first_mix_ml, total_ml : float
        In the bond lines, squeezed out, thrown away before the bead, and together [ml].
    bead : Bead
        Bead for each bond line.
    sources : tuple of Source
    """

    adhesive: str
    bond_line_mm: float
    line_ml: float
    squeeze_ml: float
    first_mix_ml: float
    total_ml: float
    bead: Bead
    sources: tuple[Source, ...]
