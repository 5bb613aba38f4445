"""How strong the new rivets are against the old ones, and the bond beside them.

**What is compared.** Old: what the file says one old fastener holds, times their number. New: the
lowest resistance of one rivet – its own shear, bearing between each two neighbouring sheets
(EN 1999-1-4), bearing of each sheet with its edge and neighbours (EN 1993-1-8, whichever of load
across and along the joint gives less) – with the partial factor taken off, times their number.
Sheet strengths are the low ends of what is published: a replaced panel as delivered, a sheet that
stays as the factory's paint oven left it. The bond is shown beside them and not added.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.joints import references, settings
from panelwright.joints.answer import Band, Rivet, Strength
from panelwright.joints.resistance_thin_sheet import ThinLap, bearing_resistance_en1999_1_4
from panelwright.joints.resistances import Place, Resistance, Resistances, rivet_resistances
from panelwright.joints.sheets import Sheet, SheetState, sheet_strength
from panelwright.sources import Basis, Source, merge

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts


@dataclass(frozen=True)
class StrengthResult:
    """The comparison, every resistance behind it, and what it rests on."""

    strength: Strength
    resistances: tuple[Resistance, ...]
    missing: tuple[str, ...]
    sources: tuple[Source, ...]


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


def bond_strength_kN(facts: JointFacts) -> float | None:
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


def _notes(facts: JointFacts, sheets: tuple[Sheet, ...], bond_kN: float | None) -> tuple[str, ...]:
    notes = [f"sheet taken: {sheet.note}" for sheet in dict.fromkeys(sheets)]
    if sheets and facts.joint.old and facts.joint.old.adhesive:
        notes.append("the old joint was bonded too; only its fasteners are compared")
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


def _old_kN(facts: JointFacts) -> float | None:
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
    each_way = Resistances() if rivet is None else rivet_resistances(facts, rivet, place)
    found, missing, sheets = each_way.found, each_way.missing, each_way.sheets
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
        notes=_notes(facts, sheets, bond_kN),
    )
    used = merge(
        [each.source for each in found],
        [sheet.source for sheet in sheets],
        [references.PARTIAL_FACTOR] if found else [],
        [references.STIFF_BOND] if bond_kN is not None else [],
        _old_source(facts, old_kN),
    )
    return StrengthResult(strength, found, missing, used)


def _old_source(facts: JointFacts, old_kN: float | None) -> list[Source]:
    if old_kN is None:
        return []
    text = f"old.strength of joint {facts.joint.label}, as the file gives it"
    return [Source(Basis.DATA_SHEET, text)]
