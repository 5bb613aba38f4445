"""Where to put a lamp, how far off, how long and when to move it, so that a joint holds soonest.

Several hundred standings are run side by side as members of one plate, with a lamp and surface at
the cold end of what they may be, for it is the late bound that is waited for. The best of them are
then run with all their spread, and one that might cook metal or adhesive is not proposed.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.age import equivalent_age, minutes_to_age
from panelwright.bond.answer import Band, Stay
from panelwright.bond.arrhenius import cure_rate
from panelwright.bond.cure import ages_of, band, law_members, spot_times
from panelwright.bond.ensemble import Ensemble, Input, fixed_ensemble, middle
from panelwright.bond.heat import panel_setup
from panelwright.bond.history import MOST_MODES, loss_of, temperature_history
from panelwright.bond.lamps import LampPlan, lamp_setup
from panelwright.bond.panel import time_grid
from panelwright.bond.plate_heat import Stretch, run
from panelwright.bond.plate_modes import modes_of
from panelwright.bond.rows import Milestone

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.arrhenius import CureLaw
    from panelwright.bond.heat import HeatPlan
    from panelwright.bond.plate_modes import Modes

    Floats = NDArray[np.float64]

DISTANCES_MM = (300.0, 400.0, 500.0, 600.0, 700.0)
"""Nearer ones heat a spot, farther ones the bay. Common practice, no source."""
NAIVE_MM = 450.0
"""Where a lamp usually stands: before the joint's middle. Common practice, no source."""
ALONE_MIN = (30.0, 60.0, 90.0, 120.0, 180.0, 240.0)
DWELLS_MIN = (30.0, 60.0, 90.0, 120.0)
SHORT_MIN = (15.0, 30.0, 45.0, 60.0)
"""All of them whole quarters of an hour: the plate is stepped anew after each switch."""
LONGEST_MIN = 240.0
FIRST_MIN, GROWTH, STEP_MIN = 0.5, 1.4, 4.0
HORIZON_MIN = 300.0
COLD = NormalDist().inv_cdf(0.1) / math.sqrt(2.0)
"""Of absorptivity and output each, so that both together are at 10 % [standard deviations]."""
CURBED = 0.85
"""Excess temperature grows with this power of what is absorbed, for the search alone."""
MAY_PASS = 0.1
"""A standing that passes a limit more often than this is not proposed."""
LOOKED_AT = 4
OFF_EVERY_MIN = 5.0
WORTH_A_MOVE = 0.05
"""A further move must shorten the wait by this share."""


@dataclass(frozen=True)
class Standing:
    """A lamp before a place along the joint for a time, minutes after closing."""

    along_mm: float
    distance_mm: float
    from_min: float
    to_min: float


@dataclass(frozen=True)
class Placing:
    """One way to heat a joint.

    Parameters
    ----------
    standings : tuple of Standing
        One after the other.
    handle_min : Band
        When the slowest spot reaches handling strength, minutes after closing.
    hottest_C : float
        Likely highest temperature of any spot.
    p_over_limit : float
        Chance that some spot passes the limit.
    steepest_K_min : float
        Likely fastest rise of any spot.
    """

    standings: tuple[Standing, ...]
    handle_min: Band
    hottest_C: float
    p_over_limit: float
    steepest_K_min: float


@dataclass(frozen=True)
class LampAdvice:
    """The best standing that was found, beside no lamp and the usual one.

    Parameters
    ----------
    best : Placing or None
        None where every standing might pass a limit, or none is sooner than no lamp.
    usual : Placing
        One fixed place before the middle, for as long as `best` or the longest that is tried.
    unheated_min : Band
        Handling without a lamp, minutes after closing.
    looked_at : int
        How many standings were compared.
    limit_C : float
    """

    best: Placing | None
    usual: Placing
    unheated_min: Band
    looked_at: int
    limit_C: float


def standings(length_mm: float) -> tuple[tuple[Standing, ...], ...]:
    """Ways to heat a joint with one lamp: one place, two or three by turns.

    Parameters
    ----------
    length_mm : float
        Of the joint, above 0 [mm].

    Returns
    -------
    tuple of tuple of Standing
    """
    found: list[tuple[Standing, ...]] = []
    alone = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8)
    for distance in DISTANCES_MM:
        for share, dwell in itertools.product(alone, ALONE_MIN):
            found.append((Standing(share * length_mm, distance, 0.0, dwell),))
        for share, (dwell, short) in itertools.product(
            (0.1, 0.15, 0.2, 0.25, 0.3, 0.35), zip(DWELLS_MIN, SHORT_MIN, strict=True)
        ):
            two = (share * length_mm, (1.0 - share) * length_mm)
            found.append(_turns(two, distance, dwell))
            found.append(_turns((*two, *two), distance, short))
        for share, dwell in itertools.product((0.08, 0.12, 0.16, 0.2), SHORT_MIN):
            three = (share * length_mm, 0.5 * length_mm, (1.0 - share) * length_mm)
            found.append(_turns(three, distance, dwell))
    return tuple(found)


def _turns(places: Sequence[float], distance: float, dwell: float) -> tuple[Standing, ...]:
    return tuple(
        Standing(place, distance, dwell * number, dwell * (number + 1))
        for number, place in enumerate(places)
    )


def cold_times(
    plan: HeatPlan, lamp: LampPlan, law: CureLaw, ways: Sequence[tuple[Standing, ...]]
) -> tuple[Floats, Floats]:
    """When the slowest spot may be handled, and the hottest, of many ways at once.

    Parameters
    ----------
    plan : HeatPlan
        With a plate.
    lamp : LampPlan
        Whose place and stays are taken from the ways.
    law : CureLaw
    ways : sequence of tuple of Standing
        m of them.

    Returns
    -------
    handle_min : array, shape (m,)
        With lamp and surface at their cold end [min].
    hottest_C : array, shape (m,)
        About what it is with both at their warm end [°C].

    Raises
    ------
    ValueError
        Where the plan has no plate.
    """
    if plan.plate is None:
        raise ValueError("a lamp is placed before a plate; the joint has no length")
    cold, warm = _members(COLD), _members(-COLD)
    setup = panel_setup(replace(plan, lamps=(lamp,)), cold)
    modes = modes_of(plan.plate, MOST_MODES)
    places_mm = np.column_stack([plan.spots_mm, np.zeros(len(plan.spots_mm))])
    stretches, edges = _stretches(lamp, cold, modes, places_mm, ways)
    minutes = time_grid(edges, HORIZON_MIN, STEP_MIN, first_min=FIRST_MIN, growth=GROWTH)
    watch = modes.at(places_mm)
    start_C = np.full(len(ways), float(setup.start_C[0]))
    celsius = run(modes, stretches, loss_of(setup), start_C, 60.0 * minutes, watch)
    age = equivalent_age(
        minutes, celsius, reference_C=law.reference_C, energy_kJ_mol=law.energy_kJ_mol
    )
    wanted = np.exp(law.ln_min[law.events.index(Milestone.HANDLE)])
    after = float(cure_rate(float(setup.air_C[0]), law.reference_C, law.energy_kJ_mol))
    flat = age.reshape(-1, len(minutes))
    times = minutes_to_age(
        minutes, flat, np.full(len(flat), wanted), np.full(len(flat), after)
    ).reshape(len(ways), -1)
    slowest: Floats = times.max(axis=1)
    strong, weak = (lamp_setup(lamp, one) for one in (warm, cold))
    more = strong.absorptivity * strong.radiant_W / (weak.absorptivity * weak.radiant_W)
    air_C = float(setup.air_C[0])
    hottest: Floats = air_C + (celsius.max(axis=(1, 2)) - air_C) * more**CURBED
    return slowest, hottest


def _members(z: float) -> Ensemble:
    """One member with lamp and surface away from their likely values."""
    likely = middle()
    normals = likely.normals.copy()
    normals[:, [Input.ABSORPTIVITY, Input.OUTPUT]] = z
    return Ensemble(normals, likely.weights)


def _stretches(
    lamp: LampPlan,
    cold: Ensemble,
    modes: Modes,
    places_mm: Floats,
    ways: Sequence[tuple[Standing, ...]],
) -> tuple[list[Stretch], list[float]]:
    """What each way gives to the modes, and beyond them, between minutes at which any changes."""
    x, y = np.meshgrid(modes.plate.along_mm, modes.plate.across_mm, indexing="ij")

    def flux(place: tuple[float, float]) -> Floats:
        there = replace(lamp, centre_mm=(place[0], lamp.centre_mm[1]), distance_mm=place[1])
        return lamp_setup(there, cold).absorbed(x.ravel(), y.ravel()).T.reshape(*x.shape, 1)

    every = sorted({(one.along_mm, one.distance_mm) for way in ways for one in way})
    number = {place: k for k, place in enumerate(every)}
    absorbed = np.concatenate([*(flux(place) for place in every), np.zeros((*x.shape, 1))], 2)
    given, beyond = modes.project(absorbed), modes.left_out(absorbed, places_mm)
    edges = sorted({0.0, *(t for way in ways for one in way for t in (one.from_min, one.to_min))})
    found = []
    for start, end in itertools.pairwise(edges):
        now = [_place_at(way, (start + end) / 2, number) for way in ways]
        found.append(Stretch(60.0 * start, 60.0 * end, given[:, :, now], beyond[:, now]))
    return found, edges


def _place_at(
    way: tuple[Standing, ...], minute: float, number: dict[tuple[float, float], int]
) -> int:
    """Number of the place that a way has its lamp at; that of no lamp between and after."""
    for one in way:
        if one.from_min <= minute < one.to_min:
            return number[one.along_mm, one.distance_mm]
    return len(number)


def placed(
    plan: HeatPlan, lamp: LampPlan, law: CureLaw, way: tuple[Standing, ...], limit_C: float
) -> Placing:
    """One way with all its spread.

    Parameters
    ----------
    plan, lamp, law
        As for `cold_times`.
    way : tuple of Standing
        None: no lamp.
    limit_C : float
        What no spot may pass [°C].

    Returns
    -------
    Placing
    """
    lamps = tuple(
        replace(
            lamp,
            centre_mm=(one.along_mm, lamp.centre_mm[1]),
            distance_mm=one.distance_mm,
            stays=(Stay(lamp.lamp, one.from_min, one.to_min, recorded=False),),
        )
        for one in way
    )
    ensemble = fixed_ensemble()
    setup = panel_setup(replace(plan, lamps=lamps), ensemble)
    history = temperature_history(setup)
    members = law_members(law, ensemble)
    ages = ages_of(members, history, air_C=setup.air_C, start_C=setup.start_C)
    wanted = members.wanted(Milestone.HANDLE)
    if wanted is None:
        raise ValueError("the data sheet gives no time to handling")
    highest = history.celsius.max(axis=(1, 2))
    rise = np.diff(history.celsius, axis=2) / np.diff(history.minutes)
    return Placing(
        way,
        band(spot_times(ages, wanted).max(axis=1), ensemble),
        float(np.median(highest)),
        float(ensemble.weights @ (highest > limit_C)),
        float(np.median(rise.max(axis=(1, 2), initial=0.0))),
    )


def best_placing(plan: HeatPlan, lamp: LampPlan, law: CureLaw, limit_C: float) -> LampAdvice:
    """The way with one lamp that lets a joint be handled soonest within its limits.

    Parameters
    ----------
    plan : HeatPlan
        With a plate.
    lamp : LampPlan
    law : CureLaw
        With a time to handling.
    limit_C : float
        [°C]

    Returns
    -------
    LampAdvice
    """
    length_mm = plan.spots_mm[-1]
    ways = standings(length_mm)
    handle, hottest = cold_times(plan, lamp, law, ways)
    allowed = np.flatnonzero(hottest <= limit_C)
    unheated = placed(plan, lamp, law, (), limit_C)
    best: Placing | None = None
    for number in _in_turn(handle, ways, allowed):
        found = _off_when_held(plan, lamp, law, ways[number], limit_C)
        late = min(best.handle_min.late if best else np.inf, unheated.handle_min.late)
        if found.p_over_limit <= MAY_PASS and found.handle_min.late < late:
            best = found
    until = best.standings[-1].to_min if best else LONGEST_MIN
    usual = (Standing(length_mm / 2, NAIVE_MM, 0.0, until),)
    return LampAdvice(
        best,
        placed(plan, lamp, law, usual, limit_C),
        unheated.handle_min,
        len(ways),
        limit_C,
    )


def _off_when_held(
    plan: HeatPlan, lamp: LampPlan, law: CureLaw, way: tuple[Standing, ...], limit_C: float
) -> Placing:
    """One way with all its spread, its lamp off once the joint surely holds."""
    whole = placed(plan, lamp, law, way, limit_C)
    held = OFF_EVERY_MIN * math.ceil(whole.handle_min.late / OFF_EVERY_MIN)
    shorter = tuple(
        replace(one, to_min=min(one.to_min, held)) for one in way if one.from_min < held
    )
    return whole if shorter == way else replace(whole, standings=shorter)


def _in_turn(
    handle: Floats, ways: Sequence[tuple[Standing, ...]], allowed: NDArray[np.intp]
) -> Iterable[int]:
    """The most promising ways: the soonest of each number of moves that is worth its moves."""
    ranked = sorted(allowed.tolist(), key=lambda k: (handle[k], len(ways[k])))
    soonest: dict[int, int] = {}
    for k in ranked:
        soonest.setdefault(len(ways[k]), k)
    ordered = sorted(soonest.values(), key=lambda k: len(ways[k]))
    kept: list[int] = []
    for k in ordered:
        if not kept or handle[k] < (1.0 - WORTH_A_MOVE) * min(handle[j] for j in kept):
            kept.append(k)
    more = [k for k in ranked if k not in kept][: max(LOOKED_AT - len(kept), 0)]
    return [*kept, *more]
