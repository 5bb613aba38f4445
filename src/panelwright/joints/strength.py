"""How strong the new rivets are against the old ones, and the bond beside them.

**What is compared.** Old: what the file says one old fastener holds, times their number. New: the
lowest resistance of one rivet – its own shear, bearing between each two neighbouring sheets
(EN 1999-1-4), bearing of each sheet with its edge and neighbours (EN 1993-1-8, whichever of load
across and along the joint gives less) – with the partial factor taken off, times their number.
Sheet strengths are the low ends of what is published: a replaced panel as delivered, a sheet that
stays as the factory's paint oven left it. The bond is shown beside them and not added.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.joints import references, settings
from panelwright.joints.answer import Band, Pitch, Rivet, Strength
from panelwright.joints.metals import metal_of
from panelwright.joints.resistance_end_distance import Fastening, bearing_resistance_en1993_1_8
from panelwright.joints.resistance_thin_sheet import (
    DIAMETER_EN1999_1_4,
    LARGEST_ULTIMATE_EN1999_1_4_MPA,
    ThinLap,
    bearing_resistance_en1999_1_4,
    rivet_shear_resistance_en1999_1_4,
)
from panelwright.joints.sheets import Sheet, SheetState, sheet_strength
from panelwright.sources import Basis, Source, merge

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
    characteristic_N: float  # noqa: N815 - a field ends in its unit
    source: Source
    valid: bool = True
    note: str = ""


@dataclass(frozen=True)
class StrengthResult:
    """The comparison, every resistance behind it, and what it rests on."""

    strength: Strength
    resistances: tuple[Resistance, ...]
    missing: tuple[str, ...]
    sources: tuple[Source, ...]


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


def _resistances(
    facts: JointFacts, rivet: Rivet, place: Place
) -> tuple[list[Resistance], list[str], list[Sheet]]:
    """Every resistance of one rivet, what is missing, and the sheets that were taken."""
    shear = rivet_shear(rivet)
    found = [shear] if isinstance(shear, Resistance) else []
    missing = [shear] if isinstance(shear, str) else []
    if rivet.diameter_mm is None:
        return found, [*missing, f"the diameter of rivet {rivet.id!r} is not known"], []
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
    return found, missing, [sheet for _, sheet in layers]


def old_estimate(facts: JointFacts, count: int) -> Band | None:
    """What the old sheets could bear of the old fasteners, where nobody says how strong they were.

    Parameters
    ----------
    facts : JointFacts
    count : int
        Old fasteners.

    Returns
    -------
    Band or None
        [kN]. Low: EN 1999-1-4 bearing with the low strength of the bake-hardened sheets and no
        partial factor. High: 2.5 f_u d t of the weaker sheet, the cap of EN 1993-1-8, with the
        high strength. An estimate, not a strength of self-piercing rivets: none was found published
        for aluminium on aluminium by sheet and rivet.
    """
    old = facts.joint.old
    sheets = [sheet_strength(layer.material, SheetState.BAKED) for layer in facts.layers]
    pairs = [
        (layer.thickness_mm, sheet)
        for layer, sheet in zip(facts.layers, sheets, strict=True)
        if layer.thickness_mm is not None and sheet is not None
    ]
    if old is None or old.diameter is None or len(pairs) < len(facts.layers) or len(pairs) < 2:
        return None
    d = old.diameter.mm
    low = min(
        bearing_resistance_en1999_1_4(
            ThinLap(t, t2, d, min(one.ultimate_low_MPa, two.ultimate_low_MPa)), partial_factor=1.0
        )
        for (t, one), (t2, two) in pairwise(pairs)
    )
    high = min(2.5 * sheet.ultimate_high_MPa * d * t for t, sheet in pairs)
    return Band(count * low / 1000.0, count * max(high, low) / 1000.0)


def bond_strength_kN(facts: JointFacts) -> float | None:  # noqa: N802 - the unit's own letters
    """Overlap area times lap shear strength at full cure [kN]; None where either is not known.

    Parameters
    ----------
    facts : JointFacts

    Returns
    -------
    float or None
        A lap shear strength is that of a small coupon and no design value (ASTM D4896, seen).
    """
    lap = facts.adhesive.lap_shear if facts.adhesive else None
    if lap is None or facts.flange_mm is None or facts.opened_mm is None:
        return None
    low, high = facts.opened_mm
    return (high - low) * facts.flange_mm * lap.MPa / 1000.0


def _notes(sheets: list[Sheet], bond_kN: float | None) -> tuple[str, ...]:
    notes = [f"sheet taken: {sheet.note}" for sheet in dict.fromkeys(sheets)]
    if sheets:
        notes.append(
            f"resistances are divided by γM = {settings.PARTIAL_FACTOR:g}; the old strength stands "
            "as the file gives it, so the ratio errs to the safe side"
        )
    if bond_kN is not None:
        notes.append(
            "rivets and bond are not added: a stiff bond fails first, and the rivets hold the "
            "sheets together until it has cured, stop it peeling and are the second path"
        )
        notes.append(
            "the bond's figure is area times the lap shear strength of a small coupon: no design "
            "value (ASTM D4896)"
        )
    return tuple(notes)


def _old_kN(facts: JointFacts) -> float | None:  # noqa: N802 - the unit's own letters
    old = facts.joint.old
    if old is None or old.strength is None or facts.old_count is None:
        return None
    return facts.old_count * old.strength.newtons / 1000.0


def joint_strength(
    facts: JointFacts, rivet: Rivet | None, count: int | None, place: Place
) -> StrengthResult:
    """Compare the new rivets of a joint with the old ones.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet or None
    count : int or None
        New rivets.
    place : Place

    Returns
    -------
    StrengthResult
        With None for whatever cannot be said, and what is missing in words.
    """
    found, missing, sheets = ([], [], []) if rivet is None else _resistances(facts, rivet, place)
    counted = [each for each in found if each.valid]
    weakest = min(counted, key=lambda each: each.newtons, default=None)
    complete = weakest is not None and count is not None and not missing
    complete = complete and len(counted) == len(found)
    old_kN, bond_kN = _old_kN(facts), bond_strength_kN(facts)
    estimate = None
    if old_kN is None and facts.old_count:
        estimate = old_estimate(facts, facts.old_count)
    new_kN = count * weakest.newtons / 1000.0 if complete and count and weakest else None
    against = Band(new_kN / estimate.high, new_kN / estimate.low) if new_kN and estimate else None
    strength = Strength(
        old_kN=old_kN,
        new_kN=new_kN,
        ratio=new_kN / old_kN if new_kN is not None and old_kN else None,
        governs=weakest.what if new_kN is not None and weakest else "",
        new_characteristic_kN=(
            count * min(each.characteristic_N for each in counted) / 1000.0
            if new_kN is not None and count
            else None
        ),
        old_estimate_kN=estimate,
        ratio_estimate=against,
        bond_kN=bond_kN,
        notes=_notes(sheets, bond_kN),
    )
    used = merge(
        [each.source for each in found],
        [sheet.source for sheet in sheets],
        [references.PARTIAL_FACTOR] if found else [],
        [references.STIFF_BOND] if bond_kN is not None else [],
        _old_source(facts, old_kN),
    )
    return StrengthResult(strength, tuple(found), tuple(dict.fromkeys(missing)), used)


def _old_source(facts: JointFacts, old_kN: float | None) -> list[Source]:
    if old_kN is None:
        return []
    text = f"old.strength of joint {facts.joint.label}, as the file gives it"
    return [Source(Basis.DATA_SHEET, text)]
