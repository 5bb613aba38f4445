"""One joint: from its facts to when it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond import clocks
from panelwright.bond.answer import Clock, JointBond, Stay
from panelwright.bond.arrhenius import Milestone, RefusedSheet
from panelwright.bond.cure import (
    Ages,
    LawMembers,
    ages_of,
    band,
    coldest_place,
    law_members,
    shares_of,
    spot_times,
    work_times,
)
from panelwright.bond.curve import curve_minutes, curve_rows
from panelwright.bond.ensemble import weighted_quantiles
from panelwright.bond.heat import (
    HeatPlan,
    heat_plan,
    heating_problem,
    panel_setup,
    planned_stays,
)
from panelwright.bond.panel import PanelSetup, panel_history
from panelwright.bond.readings import Learned, Reading, combined_u, learn
from panelwright.bond.sheet import Sheet, outside_sheet, read_sheet
from panelwright.bond.strength import MODEL
from panelwright.bond.surface import prepared_hours
from panelwright.facts.problem import Problem
from panelwright.sources import Basis, Mark, Source, merge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.bonding import Adhesive, Heating
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

READING_RANGE_C = (-30.0, 300.0)
LUMPED_NOTE = (
    "No heat is taken to flow along the sheet: the coldest spot comes out colder and the hottest "
    "hotter than they will be; aluminium smears the lamp's edge over about 90 mm."
)
STRENGTH_SOURCE = Source(Basis.PUBLISHED, "Freiesleben Hansen and Pedersen 1977", Mark.MEMORY)
METHOD_SOURCES = (Source(Basis.STANDARD, "ASTM C1074-19, equivalent age", Mark.MEMORY),)
LAMP_SOURCES = (
    Source(Basis.PUBLISHED, "Churchill and Chu 1975, natural convection", Mark.MEMORY),
    Source(Basis.PUBLISHED, "Howell et al., configuration B-3, view factor", Mark.MEMORY),
)

Heated = tuple[tuple["Heating", tuple[Stay, ...]], ...]


@dataclass(frozen=True)
class Cured:
    """A joint's cure over the ensemble, with what it was made from."""

    sheet: Sheet
    plan: HeatPlan
    learned: Learned
    setup: PanelSetup
    law: LawMembers
    ages: Ages
    gap_min: float | None


def _heatings(
    repair: Repair, joint: Joint, found: clocks.Recorded
) -> tuple[Heated, tuple[Problem, ...]]:
    """Heatings of the joint that can be computed, with their lamp times."""
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
    return tuple(good), tuple(problems)


def _readings(repair: Repair, joint: Joint) -> tuple[tuple[Reading, ...], tuple[Problem, ...]]:
    """Temperature readings of the joint that can be, in the order of the file."""
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
                Reading(along, reading.minute, reading.value.celsius, combined_u(reading.u))
            )
    return tuple(good), tuple(problems)


def _cure(
    sheet: Sheet, plan: HeatPlan, readings: Sequence[Reading], gap_min: float | None
) -> Cured:
    learned = learn(plan, readings)
    setup = panel_setup(plan, learned.ensemble)
    law = law_members(sheet.law, learned.ensemble)
    ages = ages_of(law, panel_history(setup), air_C=setup.air_C, start_C=setup.start_C)
    return Cured(sheet, plan, learned, setup, law, ages, gap_min)


def _hottest(cured: Cured, limit_C: float) -> tuple[float, float, float]:
    """Likely highest temperature, its minute, and the probability of passing the limit."""
    history, ensemble = cured.ages.history, cured.learned.ensemble
    path = history.celsius.max(axis=1)
    highest = path.max(axis=1)
    likely = float(weighted_quantiles(highest, ensemble.weights, (0.5,))[0])
    middle = weighted_quantiles(path, ensemble.weights, (0.5,))[0]
    at = float(history.minutes[int(np.argmax(np.round(middle, 6)))])
    return likely, at, float(ensemble.weights @ (highest > limit_C))


def _limit(cured: Cured) -> float:
    own = cured.plan.limit_C if cured.plan.lamps else None
    return cured.sheet.limit_C if own is None else min(own, cured.sheet.limit_C)


def _notes(cured: Cured, curve_low_C: float, hottest_C: float) -> tuple[str, ...]:
    lumped = (LUMPED_NOTE,) if cured.plan.lamps else ()
    beyond = outside_sheet(cured.sheet, coldest_C=curve_low_C, hottest_C=hottest_C)
    cold = cured.plan.panel_C is not None and cured.plan.panel_C < cured.plan.air_C - 3.0
    body = (
        ("The panel is colder than the air: a cold body warms over hours, and the bond with it.",)
        if cold
        else ()
    )
    return cured.sheet.notes + cured.plan.notes + cured.learned.notes + beyond + lumped + body


def _answer(joint: Joint, cured: Cured, clock: Clock) -> JointBond:
    """Times, places and curve of one joint."""
    ensemble = cured.learned.ensemble
    work, handle, full = (cured.law.wanted(event) for event in Milestone)
    handle_spots = None if handle is None else spot_times(cured.ages, handle)
    full_spots = None if full is None else spot_times(cured.ages, full)
    handle_min = None if handle_spots is None else band(handle_spots.max(axis=1), ensemble)
    full_min = None if full_spots is None else band(full_spots.max(axis=1), ensemble)
    work_min = None
    if work is not None:
        work_min = band(work_times(cured.ages, work, cured.gap_min), ensemble).early
    last_spots = full_spots if full_spots is not None else handle_spots
    first_spots = handle_spots if handle_spots is not None else full_spots
    coldest = 0 if last_spots is None else coldest_place(last_spots, ensemble)
    limit_C = _limit(cured)
    hottest_C, hottest_at, p_over = _hottest(cured, limit_C)
    last = full_min or handle_min
    switches = [stay.to_min for lamp in cured.plan.lamps for stay in lamp.stays]
    horizon = max([1.05 * last.late] if last else [60.0], default=60.0)
    horizon = max(horizon, *(edge + 30.0 for edge in switches)) if switches else horizon
    sheet = cured.sheet
    strengths = (
        (handle, full, sheet.handle_MPa, sheet.full_MPa)
        if handle is not None
        and full is not None
        and sheet.handle_MPa is not None
        and sheet.full_MPa is not None
        else None
    )
    curve = curve_rows(
        curve_minutes(max(switches, default=0.0), horizon),
        ages=cured.ages,
        ensemble=ensemble,
        air_C=cured.setup.air_C,
        strengths=strengths,
    )
    return JointBond(
        joint=joint.id,
        adhesive=sheet.adhesive,
        work_until_min=work_min,
        handle_min=handle_min,
        full_min=full_min,
        coldest_mm=float(cured.plan.spots_mm[coldest]),
        hottest_C=hottest_C,
        hottest_at_min=hottest_at,
        limit_C=limit_C,
        over_limit=hottest_C > limit_C,
        p_over_limit=p_over,
        curve=curve,
        law=sheet.spoken,
        stays=tuple(stay for lamp in cured.plan.lamps for stay in lamp.stays),
        clock=clocks.run(clock, work_min=work_min, handle_min=handle_min, full_min=full_min),
        readings=cured.learned.checks,
        strength_model=MODEL if strengths else "",
        shares=() if first_spots is None else shares_of(first_spots.max(axis=1), ensemble),
        sources=merge(
            sheet.sources,
            cured.plan.sources,
            METHOD_SOURCES,
            LAMP_SOURCES if cured.plan.lamps else (),
            (STRENGTH_SOURCE,) if strengths else (),
        ),
        notes=_notes(cured, min(row.coldest_C for row in curve), hottest_C),
    )


def _use_by_problem(
    repair: Repair, joint: Joint, adhesive: Adhesive, clock: Clock
) -> list[Problem]:
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


def _adhesive(repair: Repair, joint: Joint) -> tuple[Adhesive | None, str]:
    found = repair.adhesive_of(joint)
    named = joint.remake.adhesive if joint.remake else None
    if found is None and named is not None:
        return None, f"adhesive {named!r} is not in the file; add [[adhesive]] with its time rows"
    return found, "no adhesive for this joint; add [[adhesive]] with its time rows"


def bond_joint(repair: Repair, joint: Joint) -> tuple[JointBond, tuple[Problem, ...]]:
    """When one joint holds.

    Parameters
    ----------
    repair : Repair
        Everything known.
    joint : Joint
        A bonded joint of it.

    Returns
    -------
    JointBond
        Without times where the joint's adhesive cannot be read.
    tuple of Problem
        What stands in the way or was left out.

    References
    ----------
    `panelwright.bond.cure`, `panelwright.bond.panel`.
    """
    zone = clocks.zone_of(repair.shop.zone)
    found = clocks.recorded(repair.events, joint.id)
    problems = list(clocks.order_problems(joint.id, found, zone))
    adhesive, missing = _adhesive(repair, joint)
    within = adhesive.prepared_within if adhesive else None
    clock = clocks.clock_of(found, within.minutes / 60.0 if within else prepared_hours())
    if adhesive is None:
        problems.append(Problem(f"joint {joint.id}", missing))
        return JointBond(joint.id, None, clock=clock), tuple(problems)
    problems += _use_by_problem(repair, joint, adhesive, clock)
    try:
        sheet = read_sheet(adhesive)
    except RefusedSheet as refusal:
        problems.append(Problem(f"joint {joint.id}", f"adhesive {adhesive.id}: {refusal}"))
        return JointBond(joint.id, adhesive.id, clock=clock), tuple(problems)
    heated, odd = _heatings(repair, joint, found)
    readings, unbelieved = _readings(repair, joint)
    places = tuple(sorted({reading.along_mm for reading in readings}))
    plan = heat_plan(repair, joint, adhesive, heated, places)
    lamp_was_on = any(stay.recorded for lamp in plan.lamps for stay in lamp.stays)
    gap = clocks.minutes_between(clock.bead_begun, clock.closed) if lamp_was_on else None
    bond = _answer(joint, _cure(sheet, plan, readings, gap), clock)
    late = clocks.clock_problems(joint.id, bond.clock, zone)
    return bond, (*problems, *odd, *unbelieved, *late)
