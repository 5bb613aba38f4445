"""The whole question: whether every part is where it belongs, and if not, which way to move it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.errors import Unanswerable
from panelwright.facts.assumed import to_confirm
from panelwright.facts.models.base import millimetres
from panelwright.fit.adjusting import Advice, advice_of
from panelwright.fit.answer import Answer, PointPlace, Status
from panelwright.fit.at_hand import minutes_source
from panelwright.fit.before_cut import before_cut
from panelwright.fit.before_words import before_said
from panelwright.fit.body import body_answer
from panelwright.fit.datum import Adjusted
from panelwright.fit.deciders import deciders_of
from panelwright.fit.doubts import doubts_of
from panelwright.fit.earlier import bare_fit, earlier_fits
from panelwright.fit.home_conflicts import home_checks
from panelwright.fit.homes import node_now
from panelwright.fit.impossible import impossible
from panelwright.fit.moves import moves_home
from panelwright.fit.network import Network, network_of
from panelwright.fit.next_reading import next_readings, readings_together
from panelwright.fit.origins import sources_of
from panelwright.fit.part_answer import PartFit
from panelwright.fit.reading_answer import ReadingRow
from panelwright.fit.recheck import rechecks
from panelwright.fit.reliability import smallest_errors
from panelwright.fit.repeats import learnt_tools, repeats_of
from panelwright.fit.sees import what_each_sees
from panelwright.fit.sketch import Kind
from panelwright.fit.snooping import (
    fails_high,
    global_test,
    normalised,
    redundancy_of,
    variance_factor,
)
from panelwright.fit.spread import spread, vector
from panelwright.fit.spring import looks_sprung, springs_of
from panelwright.fit.stations import judge_stations
from panelwright.fit.survey import survey_of
from panelwright.fit.suspects import Suspects
from panelwright.fit.two_places import settle
from panelwright.fit.unseen import unseen_motions
from panelwright.fit.verdicts import Judge, PartState, part_state
from panelwright.fit.weak import held_weakly, in_one_plane

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from panelwright.facts.repair import Repair
    from panelwright.fit.body_answer import BodyAnswer
    from panelwright.fit.geometry import Placed
    from panelwright.fit.survey import Survey

    Floats = NDArray[np.float64]


NOTHING_TO_MEASURE = (
    "There is nothing to measure yet: declare points on the body and on the part, or places where "
    "the part meets its neighbours (station, contact, locator)."
)

NOTHING_MEASURED = (
    "Nothing is measured yet: read spans between points, side against side, or gaps, contacts and "
    "pins of the part."
)


def answer(repair: Repair) -> Answer:
    """Say where every fitted part sits, how surely, and which way to move it.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    Answer

    Raises
    ------
    Unanswerable
        Where no point, station, contact or locator is declared, or nothing of them is known yet.
    """
    settled = settle(_measured(repair))
    network, adjusted = settled.network, settled.adjusted
    placed = network.geometry.place(adjusted.x)
    redundancy = redundancy_of(adjusted)
    suspects = doubts_of(network, adjusted)
    body = body_answer(network, adjusted, suspects)
    test = global_test(adjusted)
    sound = adjusted.status is Status.CONVERGED and not fails_high(test)
    judge = Judge(repair.shop.confidence, may_be_inside=sound)
    advice = _advice(network, adjusted, placed, judge, body)
    states = advice.parts
    weak = held_weakly(network, adjusted, placed)

    def surveyed(*more_tools: str) -> Survey | None:
        return survey_of(network, adjusted, placed, states, judge, *more_tools)

    survey, before = surveyed(), before_cut(repair)
    return Answer(
        points=_points(network, adjusted, placed),
        parts=tuple(fit for _, fit in states),
        readings=_readings(network, adjusted, redundancy, suspects),
        next=next_readings(survey),
        together=readings_together(survey),
        deciders=deciders_of(survey, judge, surveyed),
        before_cut=before,
        body=body,
        variance_factor=variance_factor(adjusted),
        dof=adjusted.dof,
        global_test=test,
        datum=_datum_words(network, adjusted),
        status=adjusted.status,
        iterations=adjusted.iterations,
        confidence=repair.shop.confidence,
        suspects_note=suspects.note,
        problems=(
            *network.problems,
            *impossible(network),
            *looks_sprung(network, adjusted),
            *in_one_plane(network, placed, weak),
            *settled.problems,
            *advice.problems,
        ),
        sources=(*sources_of(network), *((minutes_source(),) if survey or before else ())),
        earlier=earlier_fits(network, adjusted, placed, judge),
        recheck=rechecks(network, adjusted, redundancy, suspects),
        sees=what_each_sees(
            network, adjusted, placed, tuple(state for state, _ in states), judge.confidence
        ),
        homes=home_checks(network, adjusted, placed),
        two_places=settled.two_places,
        weak=weak,
        corrections=tuple(c for sketch in network.sketches for c in sketch.corrections),
        repeats=repeats_of(network.sketches),
        learnt=learnt_tools(network.sketches, network.tools),
        reach=advice.reach,
    )


def _measured(repair: Repair) -> Network:
    """Give the readings as equations; Unanswerable where there are none."""
    if not (repair.points or repair.stations or repair.contacts or repair.locators):
        waiting = to_confirm(repair.assumed, "station", "contact", "locator")
        raise Unanswerable([NOTHING_TO_MEASURE, *(f"{p.where}: {p.what}" for p in waiting)])
    network = network_of(repair)
    if not network.number:
        told = (f"{p.where}: {p.what}" for p in network.problems)
        raise Unanswerable([NOTHING_MEASURED, *before_said(before_cut(repair)), *told])
    return network


def _advice(
    network: Network, adjusted: Adjusted, placed: Placed, judge: Judge, body: BodyAnswer
) -> Advice:
    """Judge every part and say how to move it."""
    states = tuple(
        _part(network, adjusted, placed, judge, part_state(network, adjusted, placed, *pose))
        for pose in network.latest_poses()
    )
    if body.first:  # structure before skin: a move against a racked body would only be undone
        return Advice(tuple((state, replace(fit, moves=())) for state, fit in states), (), ())
    return advice_of(network, adjusted, placed, states, judge.confidence)


def _part(
    network: Network, adjusted: Adjusted, placed: Placed, judge: Judge, state: PartState
) -> tuple[PartState, PartFit]:
    bare = bare_fit(state, network, adjusted, judge)
    stations = judge_stations(state.pose.part, network, adjusted, placed, judge)
    return state, replace(
        bare,
        stations=stations,
        spring=springs_of(state, network, adjusted),
        unseen=unseen_motions(state, network),
        moves=moves_home(state, (*bare.points, *stations)),
    )


def _points(network: Network, adjusted: Adjusted, placed: Placed) -> tuple[PointPlace, ...]:
    """Every point of the repair; those that nothing reaches stay where they were given."""
    places = []
    nodes = [node_now(point, network.settings) for point in network.repair.points]
    numbers = [network.number.get(node) for node in nodes]
    reached = [number for number in numbers if number is not None]
    follow = placed.follow[reached]
    variances = np.einsum("nau,uv,nav->na", follow, adjusted.covariance, follow, optimize=True)
    open_axes = adjusted.leaves_open(follow)
    row = dict(zip(reached, range(len(reached)), strict=False))
    for point, number in zip(network.repair.points, numbers, strict=True):
        if number is None:
            xyz = millimetres(point.xyz) if point.xyz is not None else None
            places.append(PointPlace(point.id, xyz, (None, None, None)))
            continue
        u_mm = spread(variances[row[number]], open_axes[row[number]])
        places.append(PointPlace(point.id, vector(placed.xyz[number]), u_mm))
    return tuple(places)


def _readings(
    network: Network, adjusted: Adjusted, redundancy: Floats, suspects: Suspects
) -> tuple[ReadingRow, ...]:
    w = normalised(adjusted, redundancy)
    u_mm = network.equations.u[: len(network.sketches)]
    least = smallest_errors(redundancy[: len(u_mm)], u_mm)
    rows = [
        ReadingRow(
            sketch.index,
            sketch.component,
            float(adjusted.residual[row] * sketch.spread.u_mm),
            None if np.isnan(w[row]) else float(w[row]),
            float(redundancy[row]),
            row in suspects.rows,
            sketch.words,
            float(least[row]) if np.isfinite(least[row]) else None,
            bool(np.isfinite(least[row])),
        )
        for row, sketch in enumerate(network.sketches)
        if sketch.kind is Kind.READING
    ]
    return tuple(_with_copies(rows, network.copies))


def _with_copies(rows: list[ReadingRow], copies: Mapping[int, int]) -> list[ReadingRow]:
    """Rows of readings that were pasted in twice stand beside those that count."""
    if not copies:
        return rows
    of_index: dict[int, list[ReadingRow]] = {}
    for row in rows:
        of_index.setdefault(row.index, []).append(row)
    again = [
        replace(row, index=copy, about=f"{row.about}, same as reading {original}: counts once")
        for copy, original in copies.items()
        for row in of_index.get(original, ())
    ]
    return sorted([*rows, *again], key=lambda row: row.index)


def _datum_words(network: Network, adjusted: Adjusted) -> str:
    if adjusted.datum:
        body = any(node.owner == "body" for node in network.number)
        over = "the body points" if body else "all points"
        return f"inner constraints over {over}: {', '.join(adjusted.datum)}"
    given = any(sketch.kind is Kind.COORDINATE for sketch in network.sketches)
    known = (
        bool((network.geometry.unknown[network.frame] < 0).any()) if len(network.frame) else False
    )
    return "held by known points" if given or known else "held by the readings"
