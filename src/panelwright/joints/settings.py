"""Values that this room takes where neither procedure, data sheet nor measurement gives one."""

from __future__ import annotations

from typing import Final

PARTIAL_FACTOR: Final = 1.25
"""γM of every resistance (references.PARTIAL_FACTOR)."""
BOND_LINE_MM: Final = 0.3
SHEET_U_MM: Final = 0.03
BOND_LINE_U_MM: Final = 0.09
SQUEEZE_OUT: Final = 0.20
"""Fraction of the bond line's volume."""
FIRST_MIX_ML: Final = 2.0
OLD_HOLE_DIAMETERS: Final = 2.0
HEAD_PER_DIAMETER: Final = 2.0
HOLE_OVER_DIAMETER_MM: Final = 0.1
HOLE_SPREAD_MM: Final = 0.1
GRID_MM: Final = 0.5
"""Positions are marked out to half a millimetre."""
SHEET_MODULUS_MPA: Final = 68_000.0
PASTE_SHEAR_MODULUS_MPA: Final = 500.0
SPARE_FRACTION: Final = 0.1
SPARE_LEAST: Final = 2
