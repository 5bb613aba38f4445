"""What a map of the panel under a lamp shows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Outline:
    """A lamp's aperture before the panel, in the joint's own lengths.

    Parameters
    ----------
    lamp : str
    centre_mm, size_mm : tuple of float
        Along the joint and across it [mm].
    distance_mm : float
        Glass to panel [mm].
    """

    lamp: str
    centre_mm: tuple[float, float]
    size_mm: tuple[float, float]
    distance_mm: float


@dataclass(frozen=True)
class HeatMap:
    """The likely panel at the end of a stretch in which the lamps stand alike.

    Parameters
    ----------
    from_min, to_min : float
        Of the stretch, minutes after closing.
    lamps : tuple of Outline
        That burn in it.
    length_mm, flange_mm : float
        Of the joint; it runs from 0 along the middle of the map [mm].
    along_mm, across_mm : tuple of float
        Edges of the cells [mm].
    celsius : tuple of tuple of float
        One row for each step across, from its negative side on [°C].
    coldest, hottest : tuple of float
        Place along the joint [mm] and temperature [°C].
    growth_mm : tuple of float
        Of the joint along itself, and of the mapped panel across it at its hottest place, against
        the panel at closing [mm].
    """

    from_min: float
    to_min: float
    lamps: tuple[Outline, ...]
    length_mm: float
    flange_mm: float
    along_mm: tuple[float, ...]
    across_mm: tuple[float, ...]
    celsius: tuple[tuple[float, ...], ...]
    coldest: tuple[float, float]
    hottest: tuple[float, float]
    growth_mm: tuple[float, float]
