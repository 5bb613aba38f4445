"""One joint: from its facts to when it holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from panelwright.bond import clocks
from panelwright.bond.answer import Band, Clock, CurveRow, JointBond
from panelwright.bond.clock_checks import (
    clock_problems,
    missing_problems,
    order_problems,
    repeated_problems,
)
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
from panelwright.bond.entries import adhesive_of, heatings_of, readings_of, use_by_problem
from panelwright.bond.exotherm import TOLD_K, exotherm_note, own_heat_K
from panelwright.bond.explain import explained
from panelwright.bond.heat import HeatPlan, heat_plan, panel_setup
from panelwright.bond.heat_map import heat_maps
from panelwright.bond.history import temperature_history
from panelwright.bond.limits import joint_limits, limit_problems, preparation_of
from panelwright.bond.near import expansion_of
from panelwright.bond.nozzle import nozzle_minutes
from panelwright.bond.panel import PanelSetup
from panelwright.bond.readings import Learned, Reading, learn
from panelwright.bond.rows import Milestone, RefusedSheet
from panelwright.bond.second_route import second_route
from panelwright.bond.sheet import Sheet, outside_sheet, read_sheet
from panelwright.bond.strength import MODEL, age_at_strength
from panelwright.bond.thermometer import looked_at
from panelwright.bond.working import work_at
from panelwright.facts.problem import Problem
from panelwright.sources import Basis, Mark, Source, merge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

LUMPED_NOTE = (
    "Without the joint's length no heat is taken to flow along the sheet: the coldest spot comes "
    "out colder and the hottest hotter than they will be."
)
BURNT_C = 250.0
"""No structural adhesive lasts there. Common practice, no source."""
BURNT = (
    "by what is known of its lamp it would reach 250 °C or more: no bond lasts there, and no time "
    "is given. Stand the lamp farther off, or with less power; switch it off where it burns already"
)
A_SHIFT_MIN = 480.0
STEADY_NOTE = (
    "The air is taken to stay as it is: a bay that cools overnight cures more slowly than this."
)
STRENGTH_SOURCE = Source(Basis.PUBLISHED, "Freiesleben Hansen and Pedersen 1977", Mark.MEMORY)
METHOD_SOURCES = (Source(Basis.STANDARD, "ASTM C1074-19, equivalent age", Mark.MEMORY),)
LAMP_SOURCES = (
    Source(Basis.PUBLISHED, "Churchill and Chu 1975, natural convection", Mark.MEMORY),
    Source(Basis.PUBLISHED, "Howell et al., configuration B-3, view factor", Mark.MEMORY),
)

Array = NDArray[np.float64]


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


def _cure(
    sheet: Sheet, plan: HeatPlan, readings: Sequence[Reading], gap_min: float | None
) -> Cured:
    learned = explained(plan, learn(plan, readings), readings)
    setup = panel_setup(plan, learned.ensemble)
    law = law_members(sheet.law, learned.ensemble)
    ages = ages_of(law, temperature_history(setup), air_C=setup.air_C, start_C=setup.start_C)
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


def _own_heat(cured: Cured) -> float:
    """What the adhesive's own heat could add [K]; 0 where that is not worth a word."""
    line = cured.plan.line
    if line is None:
        return 0.0
    rise = own_heat_K(line, cured.ages, cured.law, cured.learned.ensemble)
    return rise if rise >= TOLD_K else 0.0


def _notes(cured: Cured, curve: tuple[CurveRow, ...], hottest_C: float) -> tuple[str, ...]:
    lumped = (LUMPED_NOTE,) if cured.plan.lamps and cured.plan.plate is None else ()
    night = (STEADY_NOTE,) if curve[-1].minute > A_SHIFT_MIN else ()
    curve_low_C = min(row.coldest_C for row in curve)
    beyond = outside_sheet(cured.sheet, coldest_C=curve_low_C, hottest_C=hottest_C)
    cold = cured.plan.panel_C is not None and cured.plan.panel_C < cured.plan.air_C - 3.0
    body = (
        ("The panel is colder than the air: a cold body warms over hours, and the bond with it.",)
        if cold
        else ()
    )
    seen = tuple(check.words for check in cured.learned.checks if check.words)
    learned = seen + cured.learned.notes
    return cured.sheet.notes + cured.plan.notes + learned + beyond + lumped + body + night


@dataclass(frozen=True)
class Times:
    """When the members reach each event, in minutes.

    Parameters
    ----------
    work_min : array, shape (m,), or None
        From bead-begun.
    handle_min, full_min : array, shape (m, s), or None
        Each spot, from closed.
    """

    work_min: Array | None
    handle_min: Array | None
    full_min: Array | None

    @property
    def first(self) -> Array | None:
        """Handling, else full cure, of the spot that is last, shape (m,)."""
        spots = self.handle_min if self.handle_min is not None else self.full_min
        return None if spots is None else spots.max(axis=1)

    @property
    def last(self) -> Array | None:
        """Full cure, else handling, of every spot, shape (m, s)."""
        return self.full_min if self.full_min is not None else self.handle_min


def _times(cured: Cured) -> Times:
    work, handle, full = (cured.law.wanted(event) for event in Milestone)
    return Times(
        None if work is None else work_times(cured.ages, work, cured.gap_min),
        None if handle is None else spot_times(cured.ages, handle),
        None if full is None else spot_times(cured.ages, full),
    )


def _band(spots: Array | None, cured: Cured) -> Band | None:
    """Early, likely and late of the spot that is last."""
    return None if spots is None else band(spots.max(axis=1), cured.learned.ensemble)


def _strengths(cured: Cured) -> tuple[Array, Array, float, float] | None:
    handle, full = cured.law.wanted(Milestone.HANDLE), cured.law.wanted(Milestone.FULL)
    handle_MPa, full_MPa = cured.sheet.handle_MPa, cured.sheet.full_MPa
    if handle is None or full is None or handle_MPa is None or full_MPa is None:
        return None
    return handle, full, handle_MPa, full_MPa


HALF = 0.5


def _half(cured: Cured) -> Band | None:
    """When the spot that is last has half of its full strength."""
    known = _strengths(cured)
    if known is None:
        return None
    handle, full, handle_MPa, full_MPa = known
    wanted = age_at_strength(
        HALF, handle_min=handle, full_min=full, handle_MPa=handle_MPa, full_MPa=full_MPa
    )
    return _band(spot_times(cured.ages, wanted), cured)


def _with_work(bond: JointBond, cured: Cured) -> JointBond:
    """The joint with its work time at other temperatures, and in a nozzle that stands."""
    plan, law = cured.plan, cured.sheet.law
    if bond.work_until_min is None:
        return bond
    warmer = plan.air_C if plan.panel_C is None else max(plan.air_C, plan.panel_C)
    (in_air,) = work_at(cured.law, cured.learned.ensemble, plan.air_u_K, (plan.air_C,))
    return replace(
        bond,
        work_C=warmer,
        work_at=work_at(cured.law, cured.learned.ensemble, plan.air_u_K),
        nozzle_min=nozzle_minutes(
            work_min=in_air.early_min, air_C=plan.air_C, energy_kJ_mol=law.energy_kJ_mol
        ),
    )


def _curve(cured: Cured, last: Band | None) -> tuple[CurveRow, ...]:
    """Rows until everything is cured and every lamp is off."""
    off = max((stay.to_min for lamp in cured.plan.lamps for stay in lamp.stays), default=0.0)
    horizon = max(1.05 * last.late if last else 60.0, off + 30.0 if off else 0.0)
    return curve_rows(
        curve_minutes(off, horizon),
        ages=cured.ages,
        ensemble=cured.learned.ensemble,
        air_C=cured.setup.air_C,
        strengths=_strengths(cured),
    )


PROPOSED = Source(Basis.PROPOSAL, "the file's first adhesive, where the procedure names none")


def _all_sources(cured: Cured) -> tuple[Source, ...]:
    return merge(
        cured.sheet.sources,
        cured.plan.sources,
        METHOD_SOURCES,
        LAMP_SOURCES if cured.plan.lamps else (),
        (STRENGTH_SOURCE,) if _strengths(cured) else (),
    )


def _answer(joint: Joint, cured: Cured, clock: Clock) -> JointBond:
    """Times, places and curve of one joint."""
    ensemble, times = cured.learned.ensemble, _times(cured)
    handle_min, full_min = _band(times.handle_min, cured), _band(times.full_min, cured)
    work_min = None if times.work_min is None else band(times.work_min, ensemble).early
    coldest = 0 if times.last is None else coldest_place(times.last, ensemble)
    limit_C, own_K = _limit(cured), _own_heat(cured)
    hottest_C, hottest_at_min, p_over_limit = _hottest(cured, limit_C - own_K)
    curve = _curve(cured, full_min or handle_min)
    bond = JointBond(
        joint=joint.id,
        adhesive=cured.sheet.adhesive,
        work_until_min=work_min,
        handle_min=handle_min,
        full_min=full_min,
        half_min=_half(cured),
        coldest_mm=float(cured.plan.spots_mm[coldest]),
        hottest_C=hottest_C,
        hottest_at_min=hottest_at_min,
        limit_C=limit_C,
        over_limit=hottest_C + own_K > limit_C,
        p_over_limit=p_over_limit,
        curve=curve,
        law=cured.sheet.spoken,
        stays=tuple(stay for lamp in cured.plan.lamps for stay in lamp.stays),
        clock=clocks.run(clock, work_min=work_min, handle_min=handle_min, full_min=full_min),
        readings=cured.learned.checks,
        strength_model=MODEL if _strengths(cured) else "",
        shares=() if times.first is None else shares_of(times.first, ensemble),
        sources=_all_sources(cured),
        notes=(*_notes(cured, curve, hottest_C), *exotherm_note(own_K)),
    )
    return _with_work(bond, cured)


def _mapped(bond: JointBond, cured: Cured, repair: Repair, joint: Joint) -> JointBond:
    """The joint with its panel as a map at the end of each stretch of lamp time."""
    if joint.length is None or not cured.plan.lamps:
        return bond
    skin = repair.part_by_id.get(joint.layers[0])
    expansion = expansion_of(skin.material if skin else None)
    maps = heat_maps(cured.plan, cured.learned.ensemble, joint.length.mm, expansion)
    return replace(bond, maps=maps)


def _burnt(bond: JointBond, clock: Clock) -> JointBond:
    """The joint without times: it gets hotter than its bond could last."""
    cut = replace(bond, handle_min=None, full_min=None, half_min=None, curve=(), shares=())
    run = clocks.run(clock, work_min=bond.work_until_min, handle_min=None, full_min=None)
    return replace(cut, hottest_C=BURNT_C, maps=(), clock=run, notes=(), readings=())


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
    problems = [
        *order_problems(joint.id, found, zone),
        *missing_problems(joint.id, found, zone),
        *repeated_problems(joint.id, repair.events, zone),
    ]
    adhesive, missing = adhesive_of(repair, joint)
    prepared = preparation_of(repair.events, joint.id, adhesive)
    clock = clocks.clock_of(found, prepared[1])
    if adhesive is None:
        problems.append(Problem(f"joint {joint.id}", missing))
        return JointBond(joint.id, None, clock=clock), tuple(problems)
    problems += use_by_problem(repair, joint, adhesive, clock)
    try:
        sheet = read_sheet(adhesive)
    except RefusedSheet as refusal:
        problems.append(Problem(f"joint {joint.id}", f"adhesive {adhesive.id}: {refusal}"))
        return JointBond(joint.id, adhesive.id, clock=clock), tuple(problems)
    heated, odd = heatings_of(repair, joint, found)
    readings, unbelieved = readings_of(repair, joint)
    places = tuple(sorted({reading.along_mm for reading in readings}))
    plan = heat_plan(repair, joint, adhesive, heated, places)
    readings = looked_at(plan, readings)
    lamp_was_on = any(stay.recorded for lamp in plan.lamps for stay in lamp.stays)
    gap = clocks.minutes_between(clock.bead_begun, clock.closed) if lamp_was_on else None
    cured = _cure(sheet, plan, readings, gap)
    bond = _answer(joint, cured, clock)
    if bond.hottest_C is not None and not bond.hottest_C < BURNT_C:
        bond = _burnt(bond, clock)
        problems.append(Problem(f"joint {joint.id}", BURNT))
    else:
        bond = _mapped(bond, cured, repair, joint)
    if joint.remake is None or joint.remake.adhesive is None:
        bond = replace(bond, sources=merge((PROPOSED,), bond.sources))
    if adhesive.kinetics is not None and bond.curve:
        degree, words = second_route(bond, adhesive.kinetics)
        bond = replace(bond, degree=degree, notes=(*bond.notes, words))
    limits = joint_limits(adhesive, sheet, repair.conditions, clock, prepared)
    bond = replace(bond, limits=limits)
    late = (*clock_problems(joint.id, bond.clock, zone), *limit_problems(joint.id, limits))
    return bond, (*problems, *odd, *unbelieved, *late)
