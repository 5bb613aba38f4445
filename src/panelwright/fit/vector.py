"""Three numbers along x (rearward), y (to the right) and z (up), in answers of this room."""

from __future__ import annotations

Vector = tuple[float, float, float]
Spread = tuple[float | None, float | None, float | None]
"""Standard uncertainties; None where the readings say nothing about it."""
