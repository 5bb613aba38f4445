"""Rivet numbers of AC 43.13-1B: guidance from another trade, and a public check of arithmetic."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum, StrEnum

from panelwright.joints.validity import require_positive

MM_PER_INCH = 25.4


class SheetClass(StrEnum):
    """Sheet for which AC 43.13-1B tabulates rivets per inch, by table."""

    ALCLAD_70_KSI = "4-9"
    ALCLAD_55_KSI = "4-10"
    ALLOY_5052 = "4-11"


class RivetSize(Enum):
    """2117-T4 protruding rivets by nominal diameter; the value is the hole taken [in]."""

    THREE_32 = 0.096
    ONE_8 = 0.1285
    FIVE_32 = 0.159
    THREE_16 = 0.191
    ONE_4 = 0.257


@dataclass(frozen=True)
class _Fit:
    """Bearing strength and rivet shear strength as fractions of the sheet's ultimate strength."""

    bearing: float
    shear: float


_FITS = {
    SheetClass.ALCLAD_70_KSI: _Fit(1.60, 0.40),
    SheetClass.ALCLAD_55_KSI: _Fit(1.60, 0.50),
    # the note under the table says 160 %, its numbers fit 165 %
    SheetClass.ALLOY_5052: _Fit(1.65, 0.70),
}


def rivets_per_inch_ac43_13_1b(*, thickness_mm: float, size: RivetSize, sheet: SheetClass) -> float:
    """Rivets per inch of width that are as strong as the sheet.

    Parameters
    ----------
    thickness_mm : float
        Sheet t > 0 [mm]; the tables cover 0.4 to 3.3 mm (.016 to .128 in).
    size : RivetSize
    sheet : SheetClass

    Returns
    -------
    float
        max(1/(b d_h), t/(r A)), A = π d_h²/4, lengths in inches [1/in].

    Raises
    ------
    ValueError
        The thickness is not above zero.

    References
    ----------
    FAA AC 43.13-1B (1998), Tables 4-9, 4-10, 4-11 (seen). The closed form was fitted: it gives
    every printed cell within 0.1 but one (Table 4-9, .032 in, 5/32 in: printed 3.9, here 4.03).

    Examples
    --------
    >>> round(rivets_per_inch_ac43_13_1b(
    ...     thickness_mm=0.040 * 25.4, size=RivetSize.ONE_8, sheet=SheetClass.ALCLAD_55_KSI), 1)
    6.2
    """
    require_positive(thickness_mm=thickness_mm)
    fit, hole = _FITS[sheet], size.value
    area = math.pi * hole**2 / 4.0
    return max(1.0 / (fit.bearing * hole), thickness_mm / MM_PER_INCH / (fit.shear * area))


def rivet_count_ac43_13_1b(*, per_inch: float, width_mm: float, share: float = 1.0) -> int:
    """Rivets for a width: rounded up, then the share of that number, rounded up again.

    Parameters
    ----------
    per_inch : float
        Rivets per inch from the table, > 0 [1/in].
    width_mm : float
        > 0 [mm].
    share : float
        0.75 for single-lap joints, 0.6 for intermediate frames; 0 < share ≤ 1 [–].

    Returns
    -------
    int

    Raises
    ------
    ValueError
        An input is not above zero.

    References
    ----------
    FAA AC 43.13-1B (1998), notes under Table 4-9 and pages 4-27, 4-41 (seen).

    Examples
    --------
    >>> rivet_count_ac43_13_1b(per_inch=4.9, width_mm=254.0, share=0.75)
    37
    """
    require_positive(per_inch=per_inch, width_mm=width_mm, share=share)
    slack = 1e-9  # 0.6 · 10 must stay 6
    whole = math.ceil(per_inch * width_mm / MM_PER_INCH - slack)
    return math.ceil(share * whole - slack)
