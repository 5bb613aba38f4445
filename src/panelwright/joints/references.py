"""The sources of this room's rules and of the values it takes where nobody gives one."""

from __future__ import annotations

from panelwright.sources import Basis, Mark, Source

BEARING_EN1999_1_4 = Source(
    Basis.STANDARD,
    "EN 1999-1-4 §8.2 blind rivets, bearing (from memory; same expression as §8.3, which was seen)",
    Mark.MEMORY,
)
SHEAR_EN1999_1_4 = Source(
    Basis.STANDARD, "EN 1999-1-4 §8.2 blind rivets, shear of aluminium rivets 38 d²", Mark.MEMORY
)
BEARING_EN1993_1_8 = Source(
    Basis.STANDARD, "EN 1993-1-8 Table 3.4, bearing with end and edge distance", Mark.SEEN
)
EDGE_EN1993_1_8 = Source(
    Basis.STANDARD, "EN 1993-1-8 Table 3.3 and EN 1999-1-1 Table 8.2, least 1.2 d0", Mark.SEEN
)
PITCH_EN1999_1_1 = Source(Basis.STANDARD, "EN 1999-1-1 Table 8.2, least pitch 2.2 d0", Mark.MEMORY)
LARGEST_PITCH_EN1999_1_1 = Source(
    Basis.STANDARD, "EN 1999-1-1 Table 8.2, largest pitch min(14 t, 200 mm)", Mark.MEMORY
)
BLIND_RIVET_EN1993_1_3 = Source(
    Basis.STANDARD,
    "EN 1993-1-3 Table 8.1 blind rivets in steel sheet: edge 1.5 d, pitch 3 d",
    Mark.MEMORY,
)
EDGE_AC43_13 = Source(
    Basis.PUBLISHED, "AC 43.13-1B, aircraft practice for solid rivets: edge 2 D", Mark.SEEN
)
EDGE_PREFERRED = Source(
    Basis.PUBLISHED, "aircraft structural-repair training text: edge 2.5 D preferred", Mark.SEEN
)
PITCH_AC43_13 = Source(
    Basis.PUBLISHED,
    "aircraft structural-repair training text: pitch 3 D least, 4 to 6 D usual, 8 D most",
    Mark.SEEN,
)
DIAMETER_AC43_13 = Source(
    Basis.PUBLISHED,
    "AC 43.13-1B p. 4-27: diameter about 3 t, next size up; not below the thickest sheet",
    Mark.SEEN,
)
STIFF_BOND = Source(
    Basis.PUBLISHED,
    "hybrid joints: with a stiff adhesive fasteners add nothing at first failure "
    "(abstract, 2020; handbook text), so rivet and bond are not added",
    Mark.SEEN,
)
OVERLAP = Source(
    Basis.PUBLISHED,
    "Volkersen 1938: overlap beyond about 6/ω adds almost no strength; representative "
    "room-temperature paste G = 500 MPa, sheet E = 68 GPa",
    Mark.SEEN,
)
GALVANIC_MATRIX = Source(
    Basis.PUBLISHED,
    "MIL-STD-889 style matrix: aluminium 6061 with steel, stainless, graphite: incompatible",
    Mark.SEEN,
)
PARTIAL_FACTOR = Source(Basis.STANDARD, "EN 1999-1-4 γM3 = 1.25", Mark.MEMORY)

BOND_LINE = Source(
    Basis.PRACTICE, "bond line 0.3 mm where neither procedure nor data sheet gives one"
)
SHEET_SPREAD = Source(
    Basis.PRACTICE, "sheet thickness known to ± 0.05 mm (uniform), u = 0.03 mm a sheet"
)
BOND_LINE_SPREAD = Source(
    Basis.PRACTICE, "bond line known to ± 0.15 mm (uniform), u = 0.09 mm a line"
)
SQUEEZE_OUT = Source(Basis.PRACTICE, "20 % more than the bond line holds, so that it squeezes out")
FIRST_MIX = Source(Basis.PRACTICE, "first mix thrown away: a strand of 100 mm by 5 mm, 2 ml")
OLD_HOLE = Source(
    Basis.PRACTICE, "centre distance from an old hole at least 2 diameters of the larger hole"
)
HEAD_DIAMETER = Source(
    Basis.PUBLISHED, "head diameter about 2 d where nobody gives it (trade page)", Mark.SEEN
)
ONE_FOR_ONE = Source(
    Basis.PROPOSAL, "one for one beside the old positions, never fewer than the old count"
)
EVEN_SPREAD = Source(
    Basis.PROPOSAL, "old positions not given: spread evenly over the length, half a pitch from ends"
)
SPARE = Source(Basis.PRACTICE, "spare rivets: one in ten, at least two, one of them for the coupon")
