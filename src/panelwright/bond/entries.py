"""What the repair says of one joint: adhesive, lamps and readings, or why it cannot be used."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.bond import clocks
from panelwright.bond.answer import Clock, Stay
from panelwright.bond.lamps import heating_problem, planned_stays
from panelwright.bond.readings import Reading, combined_u
from panelwright.bond.thermometer import is_infrared
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from panelwright.facts.models.bonding import Adhesive, Heating
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

    Heated = tuple[tuple[Heating, tuple[Stay, ...]], ...]

READING_RANGE_C = (-30.0, 300.0)


def heatings_of(
    repair: Repair, joint: Joint, found: clocks.Recorded
) -> tuple[Heated, tuple[Problem, ...]]:
    """Heatings of the joint that can be computed, with their lamp times.

    Parameters
    ----------
    repair : Repair
        Everything known.
    joint : Joint
        One of its joints.
    found : Recorded
        Its moments.

    Returns
    -------
    tuple of (Heating, tuple of Stay)
    tuple of Problem
    """
    good: list[tuple[Heating, tuple[Stay, ...]]] = []
    problems: list[Problem] = []
    for number, heating in enumerate(repair.heatings):
        if heating.joint != joint.id:
            continue
        planned, odd = planned_stays(number, heating)
        problems += odd
        wrong = heating_problem(number, heating)
        if wrong is not None:
            problems.append(wrong)
            continue
        stays = clocks.switched_stays(found, heating.lamp, planned)
        if not stays:
            problems.append(
                Problem(f"heating[{number}].stays", "no lamp time given; the lamp counts as off")
            )
            continue
        good.append((heating, stays))
    return tuple(_moved(good)), tuple(problems)


def _moved(
    heated: list[tuple[Heating, tuple[Stay, ...]]],
) -> list[tuple[Heating, tuple[Stay, ...]]]:
    """Share recorded lamp time among the places that one lamp is moved to, by the planned turns.

    The turns begin when the lamp was switched on; at the last place it stays until it is off.
    """
    shared: dict[str, list[float]] = {}
    for heating, _ in heated:
        starts = [stay.from_.minutes for stay in heating.stays]
        shared.setdefault(heating.lamp, []).extend(starts)
    found = []
    for heating, stays in heated:
        turns = shared[heating.lamp]
        places = sum(other.lamp == heating.lamp for other, _ in heated)
        if places > 1 and heating.stays and stays[0].recorded:
            found.append((heating, _own_turn(heating, stays, min(turns), max(turns))))
        else:
            found.append((heating, stays))
    return [(heating, stays) for heating, stays in found if stays]


def _own_turn(
    heating: Heating, stays: tuple[Stay, ...], first_min: float, last_min: float
) -> tuple[Stay, ...]:
    """What of a lamp's recorded time falls into the turns of one place."""
    late = stays[0].from_min - first_min
    own = []
    for turn in heating.stays:
        start = turn.from_.minutes + late
        end = math.inf if turn.from_.minutes == last_min else turn.to.minutes + late
        for stay in stays:
            low, high = max(stay.from_min, start), min(stay.to_min, end)
            if low < high:
                own.append(Stay(stay.lamp, low, high, recorded=True))
    return tuple(own)


def readings_of(repair: Repair, joint: Joint) -> tuple[tuple[Reading, ...], tuple[Problem, ...]]:
    """Temperature readings of the joint that can be, in the order of the file.

    Parameters
    ----------
    repair : Repair
        Everything known.
    joint : Joint
        One of its joints.

    Returns
    -------
    tuple of Reading
    tuple of Problem
    """
    good, problems = [], []
    middle = joint.length.mm / 2 if joint.length else 0.0
    low, high = READING_RANGE_C
    for number, reading in enumerate(repair.temperatures):
        if reading.joint != joint.id:
            continue
        where = f"temperature[{number}]"
        along = reading.along.mm if reading.along is not None else middle
        if not low <= reading.value.celsius <= high:
            problems.append(
                Problem(
                    f"{where}.value",
                    f"{reading.value.celsius:g} °C on a panel is not believed ({low:g} to "
                    f"{high:g} °C); left out",
                )
            )
        elif joint.length is not None and along > joint.length.mm:
            problems.append(
                Problem(
                    f"{where}.along",
                    f"{along:g} mm lies beyond the joint's {joint.length.mm:g} mm; left out",
                )
            )
        else:
            good.append(
                Reading(
                    along,
                    reading.minute,
                    reading.value.celsius,
                    combined_u(reading.u),
                    infrared=is_infrared(reading),
                    setting=reading.emissivity,
                    on=reading.on,
                    own_u_K=reading.u,
                )
            )
    return tuple(good), tuple(problems)


def use_by_problem(repair: Repair, joint: Joint, adhesive: Adhesive, clock: Clock) -> list[Problem]:
    """Say that a cartridge is past its date on the day of the bead.

    Parameters
    ----------
    repair : Repair
        Everything known.
    joint : Joint
        One of its joints.
    adhesive : Adhesive
        That it is made with.
    clock : Clock
        With the day.

    Returns
    -------
    list of Problem
    """
    moment = clock.bead_begun or clock.closed or repair.repair.opened
    if adhesive.use_by is None or moment is None:
        return []
    used_on = moment.astimezone(clocks.zone_of(repair.shop.zone)).date()
    if used_on <= adhesive.use_by:
        return []
    return [
        Problem(
            f"joint {joint.id}",
            f"cartridge {adhesive.id}{' batch ' + adhesive.batch if adhesive.batch else ''} is "
            f"past its use-by {adhesive.use_by.isoformat()} (used on {used_on.isoformat()}); take "
            f"a fresh one, none of these times hold for it.",
        )
    ]


def adhesive_of(repair: Repair, joint: Joint) -> tuple[Adhesive | None, str]:
    """The adhesive of a joint, and the sentence where there is none.

    Parameters
    ----------
    repair : Repair
        Everything known.
    joint : Joint
        One of its joints.

    Returns
    -------
    Adhesive or None
    str
    """
    found = repair.adhesive_of(joint)
    named = joint.remake.adhesive if joint.remake else None
    if found is None and named is not None:
        return None, f"adhesive {named!r} is not in the file; add [[adhesive]] with its time rows"
    if found is None and repair.adhesives:
        return None, "ask the maker: the joint is structural and the procedure names no adhesive"
    return found, "no adhesive for this joint; add [[adhesive]] with its time rows"
