"""Adhesive of a joint: the procedure's, else a proposal, else a question to the maker."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.joints import settings
from panelwright.joints.amount import BondLine, adhesive_amount
from panelwright.joints.answer_parts import AdhesiveAmount, Origin
from panelwright.joints.lap import Lap, shear_lag_volkersen

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts

_NOT_DECLARED = "no adhesive of the file is meant: declare it as [[adhesive]]"


@dataclass(frozen=True)
class Bond:
    """Adhesive of a joint: on whose word, how much, what to ask."""

    origin: Origin
    amount: AdhesiveAmount | None
    asks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def joint_bond(facts: JointFacts) -> Bond:
    """Adhesive of a joint.

    Parameters
    ----------
    facts : JointFacts

    Returns
    -------
    Bond
        Without amount where length or flange is not known, or where the maker must be asked.
    """
    named = facts.remake.adhesive if facts.remake else None
    if facts.structural and named is None:
        return Bond(
            Origin.ASK, None, ("which adhesive: the joint is structural and none is named",)
        )
    origin = Origin.PROCEDURE if named else Origin.PROPOSAL if facts.adhesive else Origin.MISSING
    notes = (
        () if facts.adhesive else ("no adhesive of the file is meant: declare it as [[adhesive]]",)
    )
    if facts.opened_mm is None or facts.flange_mm is None:
        return Bond(origin, None, notes=notes)
    low, high = facts.opened_mm
    line = BondLine(
        length_mm=high - low,
        flange_mm=facts.flange_mm,
        thickness_mm=facts.bond_line_mm,
        lines=facts.lines,
        adhesive=facts.adhesive.id if facts.adhesive else named or "",
        source=facts.bond_line_source,
    )
    return Bond(origin, adhesive_amount(line), notes=notes)


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
