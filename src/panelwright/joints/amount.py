"""How much adhesive a joint takes, and how large the bead is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from panelwright.joints import references, settings
from panelwright.joints.answer import AdhesiveAmount, Bead
from panelwright.joints.validity import require_positive
from panelwright.sources import Source

_BEAD_STEP_MM = 0.1


@dataclass(frozen=True)
class BondLine:
    """The adhesive between the sheets of one joint.

    Parameters
    ----------
    length_mm, flange_mm, thickness_mm : float
        Length, overlap and thickness of each bond line, > 0 [mm].
    lines : int
        One fewer than there are sheets.
    adhesive : str
        Key in the repair file; empty where none is named.
    source : Source
        On whose word the thickness stands.
    """

    length_mm: float
    flange_mm: float
    thickness_mm: float
    lines: int
    adhesive: str
    source: Source


def bead_for(area_mm2: float) -> Bead:
    """Sizes of a bead with a given cross-section, rounded up to a tenth of a millimetre.

    Parameters
    ----------
    area_mm2 : float
        > 0 [mm²].

    Returns
    -------
    Bead
        Round: d = √(4 A/π). Triangle as high as its base: h = √(2 A).

    Raises
    ------
    ValueError
        The area is not above zero.

    Examples
    --------
    >>> bead_for(6.48)
    Bead(area_mm2=6.48, round_mm=2.9, triangle_mm=3.6)
    """
    require_positive(area_mm2=area_mm2)

    def up(size_mm: float) -> float:
        return math.ceil(size_mm / _BEAD_STEP_MM - 1e-9) / round(1.0 / _BEAD_STEP_MM)

    return Bead(area_mm2, up(math.sqrt(4.0 * area_mm2 / math.pi)), up(math.sqrt(2.0 * area_mm2)))


def squeeze_ratio(bead: Bead, flange_mm: float, thickness_mm: float) -> float:
    """What a round bead brings against what the bond line holds; above 1 it squeezes out.

    Parameters
    ----------
    bead : Bead
    flange_mm, thickness_mm : float
        > 0 [mm].

    Returns
    -------
    float
    """
    return math.pi * bead.round_mm**2 / 4.0 / (flange_mm * thickness_mm)


def adhesive_amount(line: BondLine) -> AdhesiveAmount:
    """Volume of adhesive for one joint.

    Parameters
    ----------
    line : BondLine

    Returns
    -------
    AdhesiveAmount
        line = length × flange × thickness × number of lines; squeeze-out a fifth of that; first
        mix once a joint [ml].

    Raises
    ------
    ValueError
        A length is not above zero.

    Examples
    --------
    >>> from panelwright.joints.references import BOND_LINE
    >>> round(adhesive_amount(BondLine(760.0, 18.0, 0.3, 1, "", BOND_LINE)).total_ml, 2)
    6.92
    """
    require_positive(
        length_mm=line.length_mm, flange_mm=line.flange_mm, thickness_mm=line.thickness_mm
    )
    held = line.length_mm * line.flange_mm * line.thickness_mm * line.lines / 1000.0
    squeezed = settings.SQUEEZE_OUT * held
    area = line.flange_mm * line.thickness_mm * (1.0 + settings.SQUEEZE_OUT)
    return AdhesiveAmount(
        adhesive=line.adhesive,
        bond_line_mm=line.thickness_mm,
        line_ml=held,
        squeeze_ml=squeezed,
        first_mix_ml=settings.FIRST_MIX_ML,
        total_ml=held + squeezed + settings.FIRST_MIX_ML,
        bead=bead_for(area),
        sources=(line.source, references.SQUEEZE_OUT, references.FIRST_MIX),
    )
