"""Every way in which one rivet of a joint can give."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.joints import references, settings
from panelwright.joints.answer_parts import Pitch, Rivet
from panelwright.joints.metals import metal_of
from panelwright.joints.resistance_end_distance import Fastening, bearing_resistance_en1993_1_8
from panelwright.joints.resistance_thin_sheet import (
    DIAMETER_EN1999_1_4,
    LARGEST_ULTIMATE_EN1999_1_4_MPA,
    ThinLap,
    bearing_resistance_en1999_1_4,
    rivet_shear_resistance_en1999_1_4,
)
from panelwright.joints.sheets import Sheet, sheet_strength
from panelwright.sources import Source

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts, Layer


@dataclass(frozen=True)
class Resistance:
    """One way in which one rivet can give.

    Parameters
    ----------
    what : str
    newtons : float
        Partial factor taken off [N].
    characteristic_N : float
        Without it [N].
    source : Source
    valid : bool
        False outside the rule's range: then it is shown and not counted.
    note : str
    """

    what: str
    newtons: float
    characteristic_N: float
    source: Source
    valid: bool = True
    note: str = ""


@dataclass(frozen=True)
class Resistances:
    """Every resistance of one rivet, what is missing in words, and the sheets that were taken."""

    found: tuple[Resistance, ...] = ()
    missing: tuple[str, ...] = ()
    sheets: tuple[Sheet, ...] = ()


@dataclass(frozen=True)
class Place:
    """A rivet's distances: edge across the joint, nearest end along it, pitch, hole [mm]."""

    edge_mm: float | None
    end_mm: float | None
    pitch: Pitch
    hole_mm: float


def rivet_shear(rivet: Rivet) -> Resistance | str:
    """A rivet's shear resistance: declared, else EN 1999-1-4 for an aluminium one.

    Parameters
    ----------
    rivet : Rivet

    Returns
    -------
    Resistance or str
        In words what is missing where there is none.
    """
    factor = settings.PARTIAL_FACTOR
    if rivet.shear_kN is not None:
        declared = 1000.0 * rivet.shear_kN
        source = rivet.sources[0] if rivet.sources else references.PARTIAL_FACTOR
        return Resistance("rivet shear, declared", declared / factor, declared, source)
    metal = metal_of(rivet.material or rivet.kind)
    if rivet.diameter_mm is None or metal is None or metal.key != "aluminium":
        return (
            f"the shear strength of rivet {rivet.id!r} is not declared, and EN 1999-1-4 gives one "
            'for aluminium rivets only: give shear = "… kN" and material from its data sheet'
        )
    d = rivet.diameter_mm
    valid = DIAMETER_EN1999_1_4.holds(d)
    return Resistance(
        "rivet shear, EN 1999-1-4",
        rivet_shear_resistance_en1999_1_4(diameter_mm=d, partial_factor=factor),
        rivet_shear_resistance_en1999_1_4(diameter_mm=d, partial_factor=1.0),
        references.SHEAR_EN1999_1_4,
        valid,
        "" if valid else DIAMETER_EN1999_1_4.words(d),
    )


def _thin(one: tuple[Layer, Sheet], other: tuple[Layer, Sheet], d: float) -> Resistance:
    """Bearing between two neighbouring sheets, the head on the first."""
    lap = ThinLap(
        thickness_mm=one[0].thickness_mm or 0.0,
        support_mm=other[0].thickness_mm or 0.0,
        diameter_mm=d,
        ultimate_MPa=min(one[1].ultimate_low_MPa, other[1].ultimate_low_MPa),
    )
    valid = DIAMETER_EN1999_1_4.holds(d)
    capped = lap.ultimate_MPa > LARGEST_ULTIMATE_EN1999_1_4_MPA
    note = "strength beyond 260 MPa is not counted" if capped else ""
    return Resistance(
        f"bearing, {one[0].name} on {other[0].name}, EN 1999-1-4",
        bearing_resistance_en1999_1_4(lap, partial_factor=settings.PARTIAL_FACTOR),
        bearing_resistance_en1999_1_4(lap, partial_factor=1.0),
        references.BEARING_EN1999_1_4,
        valid,
        note if valid else DIAMETER_EN1999_1_4.words(d),
    )


def _with_distances(layer: Layer, sheet: Sheet, d: float, place: Place) -> Resistance | None:
    """Bearing of one sheet with its distances, load across or along the joint, the lower one."""
    if place.edge_mm is None:
        return None
    base = Fastening(d, place.hole_mm, layer.thickness_mm or 0.0, sheet.ultimate_low_MPa)
    across = replace(
        base, end_mm=place.edge_mm, edge_mm=place.end_mm, cross_pitch_mm=place.pitch.min
    )
    along = replace(base, end_mm=place.end_mm, edge_mm=place.edge_mm, pitch_mm=place.pitch.min)
    factor = settings.PARTIAL_FACTOR
    return Resistance(
        f"bearing, {layer.name} with edge distance, EN 1993-1-8",
        min(bearing_resistance_en1993_1_8(case, partial_factor=factor) for case in (across, along)),
        min(bearing_resistance_en1993_1_8(case, partial_factor=1.0) for case in (across, along)),
        references.BEARING_EN1993_1_8,
        note="load across or along the joint, whichever gives less",
    )


def rivet_resistances(facts: JointFacts, rivet: Rivet, place: Place) -> Resistances:
    """Every way in which one rivet of a joint can give.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet
    place : Place

    Returns
    -------
    Resistances
    """
    shear = rivet_shear(rivet)
    found = [shear] if isinstance(shear, Resistance) else []
    missing = [shear] if isinstance(shear, str) else []
    if rivet.diameter_mm is None:
        missing.append(f"the diameter of rivet {rivet.id!r} is not known")
        return Resistances(tuple(found), tuple(missing), ())
    layers = []
    for layer in facts.layers:
        sheet = sheet_strength(layer.material, layer.state)
        if sheet is None or layer.thickness_mm is None:
            missing.append(f"thickness or sheet strength of {layer.name!r} is not known")
        else:
            layers.append((layer, sheet))
    if len(layers) == len(facts.layers):
        found += [_thin(one, other, rivet.diameter_mm) for one, other in pairwise(layers)]
    each = [_with_distances(*layer, rivet.diameter_mm, place) for layer in layers]
    found += [resistance for resistance in each if resistance is not None]
    if place.edge_mm is None:
        missing.append("the edge distance is not known")
    sheets = tuple(sheet for _, sheet in layers)
    return Resistances(tuple(found), tuple(dict.fromkeys(missing)), sheets)
