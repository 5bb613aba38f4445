"""One panel with its pads: coverage, mass, loss factor without and with them."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.quiet.answer import Band
from panelwright.quiet.damping import (
    FreeLayer,
    loss_ratio_astm_e756,
    ringing_reduction,
    strain_energy_fraction,
)
from panelwright.sources import Basis, Mark, Share, Source
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.parts import Pad, Part

OBERST = Source(
    Basis.STANDARD, "ASTM E756-05, free layer; Oberst and Frankenfeld 1952", Mark.MEMORY
)
PLATE = Source(
    Basis.PUBLISHED,
    "bending energy of a simply supported square plate in its first mode (thin-plate theory)",
    Mark.MEMORY,
)
_STEEL = re.compile(r"steel|\b(DC0[1-7]|DX5\d|HC\d{3}|S\d{3})", re.IGNORECASE)
_ALUMINIUM = re.compile(r"alumin|\bAW\b|\bEN AW|\bAl\b|\b[1-8]\d{3}([A-Z]?\b|-)", re.IGNORECASE)


@dataclass(frozen=True)
class Metal:
    """What a panel is made of.

    Parameters
    ----------
    modulus_GPa : float
        Young's modulus. [GPa]
    poisson : float
        Poisson's ratio.
    source : Source
    """

    modulus_GPa: float
    poisson: float
    source: Source


@dataclass(frozen=True)
class Traced:
    """A pad with its area in m²."""

    pad: Pad
    area_m2: float


@dataclass(frozen=True)
class Loss:
    """Loss factors of a panel with its pads, and what they rest on."""

    padded: Band
    quieter: Band
    shares: tuple[Share, ...]
    sources: tuple[Source, ...]


def metal_of(material: str | None) -> Metal | None:
    """Stiffness of the metal that a part's material names; None where it names none known.

    Parameters
    ----------
    material : str or None
        As the file gives it.

    Returns
    -------
    Metal or None

    Examples
    --------
    >>> metal = metal_of("EN AW-6016-T4")
    >>> metal and metal.modulus_GPa
    70.0
    """
    if material is None:
        return None
    name = "steel" if _STEEL.search(material) else None
    if name is None and _ALUMINIUM.search(material):
        name = "aluminium"
    table = load("panel_stiffness")
    for number, row in enumerate(table.records()):
        if row["metal"] == name:
            return Metal(
                table.number(number, "modulus_GPa"),
                table.number(number, "poisson"),
                Source(Basis(str(row["basis"])), str(row["source"]), Mark(str(row["mark"]))),
            )
    return None


def bare_loss() -> tuple[Band, Source]:
    """Loss factor of a bare body panel as mounted, with its source.

    Returns
    -------
    tuple of (Band, Source)
        The source says that it is from memory.
    """
    table = load("pad_loss_bare")
    row = table.records()[0]
    band = Band(*(table.number(0, column) for column in ("low", "likely", "high")))
    return band, Source(Basis(str(row["basis"])), str(row["source"]), Mark(str(row["mark"])))


def sheet_density_kg_m3(*, mass_kg_m2: float, thickness_mm: float) -> float:
    """Density of pad stock from its mass per area and thickness.

    Parameters
    ----------
    mass_kg_m2 : float
        Mass per area, above 0. [kg/m²]
    thickness_mm : float
        Thickness, above 0. [mm]

    Returns
    -------
    float
        [kg/m³]

    References
    ----------
    Definition. Bitumen sheet, distributor's data (read): 1.5, 2.5, 5 mm weigh 3, 5, 10 kg/m².

    Examples
    --------
    >>> sheet_density_kg_m3(mass_kg_m2=5.0, thickness_mm=2.5)
    2000.0
    """
    return mass_kg_m2 / thickness_mm * 1000


def missing_for_loss(
    part: Part | None, coverage: float | None, pads: Sequence[Traced]
) -> list[str]:
    """What the file lacks to give a panel's loss factor with its pads, in words.

    Parameters
    ----------
    part : Part or None
        None where the pads name a part that is not there.
    coverage : float or None
        Padded share of the panel's area. [–]
    pads : sequence of Traced

    Returns
    -------
    list of str
        Each with the key that would give it; empty where nothing lacks.
    """
    missing = []
    if part is None:
        return ["the part itself: it is not in this file"]
    if coverage is None:
        missing.append('the panel\'s area: area = "1.1 m2"')
    if part.thickness is None:
        missing.append('the panel\'s thickness: thickness = "1.0 mm"')
    if metal_of(part.material) is None:
        given = f" ({part.material!r} names no metal known here)" if part.material else ""
        missing.append(f'the panel\'s material{given}: material = "EN AW-6016-T4"')
    for key, unit in (("thickness", "mm"), ("modulus", "GPa"), ("loss", "no unit")):
        if any(getattr(traced.pad, key) is None for traced in pads):
            missing.append(f"the pad's {key} ({unit}) from its data sheet")
    return missing


def _local_loss(part: Part, metal: Metal, pads: Sequence[Traced]) -> float | None:
    """Loss factor where a pad lies, over all pads by area; None where pad data are missing."""
    if part.thickness is None:
        return None
    weighted = []
    for traced in pads:
        pad = traced.pad
        if pad.thickness is None or pad.modulus is None or pad.loss is None:
            return None
        layer = FreeLayer(pad.modulus / metal.modulus_GPa, pad.thickness.mm / part.thickness.mm)
        weighted.append(traced.area_m2 * pad.loss * loss_ratio_astm_e756(layer))
    return math.fsum(weighted) / math.fsum(traced.area_m2 for traced in pads)


def padded_loss(part: Part, coverage: float, pads: Sequence[Traced]) -> Loss | None:
    """Loss factor of a panel with its pads.

    The share of bending energy under the pads, times the loss factor where they lie, is added to
    what the bare panel has. The likely and high ends take the pads as one patch in the middle of
    a simply supported square plate; the low end as spread evenly.

    Parameters
    ----------
    part : Part
        Material and thickness.
    coverage : float
        Padded share of the panel's area, 0 to 1. [–]
    pads : sequence of Traced
        With thickness, modulus and loss factor.

    Returns
    -------
    Loss or None
        None where a value is missing; see `missing_for_loss`.

    References
    ----------
    ASTM E756-05 (free layer, from memory) times the energy fraction of `strain_energy_fraction`.
    """
    metal = metal_of(part.material)
    local = None if metal is None else _local_loss(part, metal, pads)
    if metal is None or local is None:
        return None
    bare, bare_source = bare_loss()
    middle = strain_energy_fraction(coverage, metal.poisson)
    even = coverage
    padded = Band(bare.low + even * local, bare.likely + middle * local, bare.high + middle * local)
    quieter = Band(
        ringing_reduction(bare.high, bare.high + even * local),
        ringing_reduction(bare.likely, padded.likely),
        ringing_reduction(bare.low, bare.low + middle * local),
    )
    shares = (
        Share("the bare panel's own loss", (bare.high - bare.low) ** 2 / 12),
        Share("where on the panel the pads lie", ((middle - even) * local) ** 2 / 12),
    )
    data = tuple(
        Source(Basis.DATA_SHEET, traced.pad.source or "pad data as the repair file gives them")
        for traced in pads
    )
    return Loss(padded, quieter, shares, (*data, OBERST, PLATE, metal.source, bare_source))
