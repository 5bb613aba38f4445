"""What is made safe before anything comes off, and what to mind as a part does."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from panelwright.facts.repair import Repair
    from panelwright.teardown.answer import Carried

TWO_PEOPLE_KG = 15.0
HOIST_KG = 40.0

HIGH_VOLTAGE = (
    "High voltage: isolated by a qualified person, proven dead, locked off, before anything else."
)
FUEL = "Fuel: no flame and no spark near tank and lines; vapour extracted."
RESTRAINT = (
    "Restraint system made safe by a qualified person; keep the maker's waiting time before "
    "anything near it is touched."
)


def _drive(repair: Repair) -> Iterable[str]:
    drive = repair.vehicle.drive
    if drive in {"battery", "hybrid"}:
        yield HIGH_VOLTAGE
    if drive in {"combustion", "hybrid"}:
        yield FUEL
    if drive is None:
        yield (
            "Drive not given: until it is known, treat the vehicle as one with high voltage. "
            + HIGH_VOLTAGE
        )


def first(repair: Repair, cares: tuple[Carried, ...]) -> tuple[str, ...]:
    """What is made safe or recorded before anything comes off, in order.

    Parameters
    ----------
    repair : Repair
        Its drive and its procedure.
    cares : tuple of Carried
        What the parts that are worked on carry.

    Returns
    -------
    tuple of str
        Sentences; common practice, no source.
    """
    words = list(_drive(repair))
    if any(care.kind == "restraint" for care in cares):
        words.append(RESTRAINT)
    else:
        words.append("Look for restraint parts near the work; none is named. " + RESTRAINT)
    words += [
        "Pre-repair scan, then the 12 V battery by the maker's order.",
        "Take the readings that need the old part in place: openings, diagonals, gaps; photos.",
    ]
    if not repair.procedure.reference:
        words.append(
            "No maker's procedure is named: read it first; what follows is common practice only."
        )
    return tuple(words)


def removal_cautions(repair: Repair, name: str) -> tuple[str, ...]:
    """What to mind as one part comes off: its weight and what it is to the body.

    Parameters
    ----------
    repair : Repair
        For the part's mass and whether it is structural.
    name : str
        Id of the part.

    Returns
    -------
    tuple of str
        Sentences; common practice, no source. Two people from 15 kg, a hoist from 40 kg.
    """
    part = repair.part_by_id[name]
    kinds = {joint.kind for joint in repair.joints if name in joint.layers}
    words = ["Support it before the last joint opens."] if kinds else []
    if kinds - {"bolt"}:
        words.append("Its edges are sharp where it was cut free: cut-proof gloves.")
    if part.mass is not None and part.mass >= HOIST_KG:
        words.append(f"It weighs {part.mass:g} kg: hoist or stand.")
    elif part.mass is not None and part.mass >= TWO_PEOPLE_KG:
        words.append(f"It weighs {part.mass:g} kg: two people.")
    if part.structural:
        words.append(
            "Structural: brace the opening before it comes off, as the maker's procedure says; "
            "where it is silent, ask the maker."
        )
    return tuple(words)
