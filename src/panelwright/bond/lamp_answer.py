"""Answer where to put a lamp before one joint of a repair, in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panelwright.bond import clocks
from panelwright.bond.entries import adhesive_of, heatings_of
from panelwright.bond.heat import heat_plan
from panelwright.bond.lamps import lamp_plan
from panelwright.bond.near import KeepAway, growth_mm, keep_away
from panelwright.bond.placing import LampAdvice, best_placing
from panelwright.bond.rows import Milestone, RefusedSheet
from panelwright.bond.sheet import read_sheet
from panelwright.errors import Unanswerable
from panelwright.facts.models.bonding import Heating
from panelwright.sources import Source

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair

USUAL_DISTANCE = "450 mm"
ANY_LAMP = "lamp"


@dataclass(frozen=True)
class LampAnswer:
    """Where to put a lamp before a joint.

    Parameters
    ----------
    joint, lamp, surface : str
        Ids, and what the lamp shines on; "unknown" where nobody said.
    length_mm : float
        Of the joint [mm].
    size_mm : tuple of float
        Of the lamp's aperture along and across the joint [mm].
    advice : LampAdvice
    keep_away : tuple of KeepAway
        For the nearest distance that is proposed; for the usual one where none is.
    growth_mm : float
        Of the panel along the joint while it is hottest [mm].
    notes : tuple of str
        What was assumed.
    """

    joint: str
    lamp: str
    surface: str
    length_mm: float
    size_mm: tuple[float, float]
    advice: LampAdvice
    keep_away: tuple[KeepAway, ...]
    growth_mm: float
    notes: tuple[str, ...]
    sources: tuple[Source, ...]


def lamp_answer(repair: Repair, joint_id: str) -> LampAnswer:
    """Where to put a lamp before a joint so that it may be handled soonest.

    Parameters
    ----------
    repair : Repair
    joint_id : str

    Returns
    -------
    LampAnswer
        For the lamp and surface of the joint's first heating; else the repair's first lamp on an
        unknown surface.

    Raises
    ------
    Unanswerable
        No such joint, no length, no adhesive, or a data sheet without a time to handling.
    """
    joint = repair.joint_by_id.get(joint_id)
    if joint is None:
        raise Unanswerable([f"There is no joint {joint_id!r}."])
    if joint.length is None or len(joint.layers) < 2:
        raise Unanswerable(
            [f"joint {joint_id}: give its length and layers; a lamp stands before it."]
        )
    adhesive, missing = adhesive_of(repair, joint)
    if adhesive is None:
        raise Unanswerable([f"joint {joint_id}: {missing}"])
    try:
        sheet = read_sheet(adhesive)
    except RefusedSheet as refusal:
        raise Unanswerable([f"adhesive {adhesive.id}: {refusal}"]) from None
    if Milestone.HANDLE not in sheet.law.events:
        raise Unanswerable(
            [f"adhesive {adhesive.id}: its sheet gives no time to handling; add such a row."]
        )
    heated, _ = heatings_of(repair, joint, clocks.recorded((), joint.id))
    heating = heated[0][0] if heated else _assumed(repair, joint.id)
    lamp, notes = lamp_plan(repair, joint, heating, ())
    plan = heat_plan(repair, joint, adhesive, ((heating, ()),), ())
    limit_C = min(sheet.limit_C, plan.limit_C) if plan.limit_C is not None else sheet.limit_C
    advice = best_placing(plan, lamp, sheet.law, limit_C)
    shown = advice.best or advice.usual
    skin = repair.part_by_id.get(joint.layers[0])
    nearest = replace(lamp, distance_mm=min(one.distance_mm for one in shown.standings))
    return LampAnswer(
        joint=joint.id,
        lamp=heating.lamp,
        surface=heating.surface or "unknown",
        length_mm=joint.length.mm,
        size_mm=lamp.size_mm,
        advice=advice,
        keep_away=keep_away(nearest, plan.air_C),
        growth_mm=growth_mm(
            joint.length.mm, shown.hottest_C - plan.air_C, skin.material if skin else None
        ),
        notes=tuple(dict.fromkeys((*plan.notes, *notes))),
        sources=plan.sources,
    )


def _assumed(repair: Repair, joint: str) -> Heating:
    """A lamp before the joint where none is said."""
    lamp = repair.lamps[0].id if repair.lamps else ANY_LAMP
    return Heating.model_validate({"joint": joint, "lamp": lamp, "distance": USUAL_DISTANCE})
