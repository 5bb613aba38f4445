"""When does it hold? Cure time, lamp, panel heat, temperature readings, clocks."""

from panelwright.bond.answer import Band, BondAnswer, JointBond
from panelwright.bond.room import bond_answer as answer

__all__ = ["Band", "BondAnswer", "JointBond", "answer"]
