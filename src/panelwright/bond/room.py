"""Answer the bond room's question: when does it hold."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.bond.advice import advice_of
from panelwright.bond.answer import BondAnswer, JointBond
from panelwright.bond.clocks import ORDER, zone_of
from panelwright.bond.joint import bond_joint
from panelwright.bond.limits import air_limits
from panelwright.bond.surface import AIR_RANGE_C, panel_problems, surface_answer
from panelwright.errors import Unanswerable
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

BONDED_KINDS = frozenset({"rivet-bond", "bond"})
MAY_BE_BONDED = frozenset({"hem", "sleeve"})


def is_bonded(joint: Joint) -> bool:
    """Whether a joint is made with adhesive: by its kind, its procedure or what it had.

    Parameters
    ----------
    joint : Joint
        Any joint.

    Returns
    -------
    bool
    """
    if joint.kind in BONDED_KINDS or (joint.remake and joint.remake.adhesive):
        return True
    return bool(joint.kind in MAY_BE_BONDED and joint.old and joint.old.adhesive)


def _air_problems(repair: Repair) -> tuple[Problem, ...]:
    air = repair.conditions.air
    low, high = AIR_RANGE_C
    if air is None:
        return (
            Problem("conditions.air", "not given; 20 °C is assumed with a wide band. Measure it"),
        )
    if not low <= air.celsius <= high:
        return (
            Problem(
                "conditions.air",
                f"{air.celsius:g} °C is no workshop ({low:g} to {high:g} °C was expected); 20 °C "
                f"is assumed with a wide band. Measure it",
            ),
        )
    return ()


def _loose_events(repair: Repair) -> tuple[Problem, ...]:
    """Moments of a joint's clock that name no joint."""
    return tuple(
        Problem(
            f"event[{number}].joint", f"{event.kind!r} names no joint, so no clock runs from it"
        )
        for number, event in enumerate(repair.events)
        if event.kind in ORDER and event.joint is None
    )


def _runs(bond: JointBond) -> bool:
    """Whether a moment of it is recorded: its clock is not lost for want of an adhesive."""
    clock = bond.clock
    return any(one is not None for one in (clock.prepared, clock.bead_begun, clock.closed))


def _lost(problems: tuple[Problem, ...]) -> Unanswerable:
    return Unanswerable(tuple(f"{problem.where}: {problem.what}" for problem in problems))


def _zone_problems(repair: Repair, zone: str) -> tuple[Problem, ...]:
    if repair.shop.zone == zone:
        return ()
    what = f"{repair.shop.zone!r} is no time zone; times of day here are in {zone}"
    return (Problem("shop.zone", what),)


def bond_answer(repair: Repair) -> BondAnswer:
    """When each bonded joint of a repair holds.

    Parameters
    ----------
    repair : Repair
        Everything known.

    Returns
    -------
    BondAnswer
        Joints whose adhesive cannot be read stand in it without times, with a problem.

    Raises
    ------
    Unanswerable
        No joint is bonded, or none can be answered and no clock runs.

    References
    ----------
    `panelwright.bond.joint.bond_joint`.
    """
    bonded = tuple(joint for joint in repair.joints if is_bonded(joint))
    if not bonded:
        raise Unanswerable(
            (
                (
                    "This repair has no bonded joint. Add [[joint]] with layers, length and kind "
                    '"rivet-bond" or "bond".'
                ),
            )
        )
    joints: list[JointBond] = []
    problems: list[Problem] = []
    for joint in bonded:
        bond, found = bond_joint(repair, joint)
        joints.append(bond)
        problems += found
    if all(bond.law is None for bond in joints) and not any(_runs(bond) for bond in joints):
        raise _lost(tuple(problems))
    problems += _loose_events(repair)
    surface, odd = surface_answer(repair.conditions)
    surface = replace(surface, limits=air_limits(surface, repair.conditions))
    zone = zone_of(repair.shop.zone)
    return BondAnswer(
        joints=tuple(joints),
        surface=surface,
        advice=advice_of(tuple(joints), surface, zone),
        problems=(
            *_zone_problems(repair, zone.key),
            *_air_problems(repair),
            *panel_problems(repair.conditions),
            *odd,
            *problems,
        ),
        zone=zone.key,
    )
