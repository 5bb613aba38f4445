"""The best setting of all adjusters, in the words and figures of the answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.models.base import millimetres
from panelwright.fit.adjuster_answer import AdjusterSetting, ExpectedPlace, Reach
from panelwright.fit.adjuster_scene import Scene
from panelwright.fit.adjuster_task import off, size
from panelwright.fit.adjuster_words import CONTRADICTS, reach_words, setting_words
from panelwright.fit.adjusters import groups_of
from panelwright.fit.motions import displaced
from panelwright.fit.moves import pushes
from panelwright.fit.notes import left_out
from panelwright.fit.words import joined, place_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from panelwright.facts.problem import Problem
    from panelwright.fit.adjuster_search import Best
    from panelwright.fit.adjuster_task import Knob
    from panelwright.fit.adjusters import Group
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.part_answer import Move, PartFit
    from panelwright.fit.verdicts import PartState

    Floats = NDArray[np.float64]

_END_MM = 1e-6


@dataclass(frozen=True)
class Advice:
    """Parts with the settings of their adjusters, and what these can reach."""

    parts: tuple[tuple[PartState, PartFit], ...]
    reach: tuple[Reach, ...]
    problems: tuple[Problem, ...]


def advice_of(
    network: Network,
    adjusted: Adjusted,
    placed: Placed,
    parts: tuple[tuple[PartState, PartFit], ...],
    confidence: float,
) -> Advice:
    """Set the adjusters of every part that is not known to be inside.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    parts : tuple of (PartState, PartFit)
        Every fitted part in its latest dry fit, its moves as if it had no adjusters.
    confidence : float
        Of verdicts.

    Returns
    -------
    Advice
        The same parts; those with adjusters have `settings`, and moves that these allow.
    """
    if not network.repair.adjusters:
        return Advice(parts, (), ())
    scene = Scene(
        network,
        adjusted,
        placed,
        {state.pose.part: state for state, _ in parts},
        {fit.id: fit for _, fit in parts},
        confidence,
    )
    groups, problems = groups_of(scene)
    reached, fits, contradictory = [], dict(scene.fits), []
    for group in groups:
        best = _search(group)
        if best is None:
            who = joined(list(group.task.parts))
            contradictory.append(left_out(f"adjusters of {who}", CONTRADICTS))
            continue
        reach = _reach(group, best)
        reached.append(reach)
        for number, part in enumerate(group.task.parts):
            motion = best.motions[6 * number : 6 * number + 6]
            moves = _moves(scene, group, part, number, motion)
            settings = tuple(_settings(scene, group, best, part))
            fits[part] = replace(fits[part], moves=moves, settings=settings)
    return Advice(
        tuple((state, fits[fit.id]) for state, fit in parts),
        tuple(reached),
        (*problems, *contradictory),
    )


def _search(group: Group) -> Best | None:
    # The solver is slow to load: only where there is something to set.
    from panelwright.fit.adjuster_search import best_setting  # noqa: PLC0415

    return best_setting(group.task)


def _moves(scene: Scene, group: Group, part: str, number: int, motion: Floats) -> tuple[Move, ...]:
    state = scene.states[part]
    now = state.home + state.off
    return pushes(state, displaced(group.task.movers[number], motion, now))


def _settings(scene: Scene, group: Group, best: Best, part: str) -> Iterator[AdjusterSetting]:
    state = scene.states[part]
    places = state.home + state.off
    for knob, by_mm in zip(group.task.knobs, best.by_mm, strict=True):
        if knob.facts.part == part:
            setting = _setting(knob, float(by_mm), place_words(_place(knob), places))
            yield replace(setting, words=setting_words(setting))


def _place(knob: Knob) -> Floats:
    return np.array(millimetres(knob.facts.xyz))


def _setting(knob: Knob, by_mm: float, place: str) -> AdjusterSetting:
    facts, at_mm = knob.facts, knob.facts.at.mm
    room = (knob.high_mm - by_mm) if by_mm > 0.0 else (by_mm - knob.low_mm)
    x, y, z = millimetres(facts.xyz)
    return AdjusterSetting(
        part=facts.part,
        index=knob.index,
        id=facts.id,
        name=facts.name or facts.id or f"{facts.what} at the {place}",
        kind=facts.what,
        xyz=(x, y, z),
        along=facts.along,
        from_mm=at_mm,
        by_mm=by_mm,
        to_mm=at_mm + by_mm,
        range_mm=(facts.range[0].mm, facts.range[1].mm),
        step_mm=knob.step_mm or None,
        steps=round(by_mm / knob.step_mm) if knob.is_shim else None,
        at_end=by_mm != 0.0 and room < (knob.step_mm if knob.is_shim else _END_MM) - _END_MM * 0.5,
        u_mm=knob.u_mm,
        place=place,
        words="",
        note=knob.note,
    )


def _expected(group: Group, best: Best) -> Iterator[ExpectedPlace]:
    stays = np.zeros(len(group.task.rows.terms))
    for judged in group.judged:
        offs = np.concatenate([off(item, best.moved_mm) for item in judged.items])
        p_inside = judged.p_inside(offs)
        for item in judged.items:
            length = size(item, best.moved_mm)
            signed = length if len(item.rows) > 1 else float(off(item, best.moved_mm)[0])
            tolerance = item.tolerance_mm
            yield ExpectedPlace(
                item.kind,
                item.id,
                item.part,
                item.axis,
                signed,
                tolerance,
                length / tolerance,
                size(item, stays) / tolerance,
                p_inside,
            )


def _reach(group: Group, best: Best) -> Reach:
    from panelwright.fit.adjuster_limits import limits_of  # noqa: PLC0415

    expected = tuple(_expected(group, best))
    worst = max(expected, key=lambda place: place.ratio)
    reach = Reach(
        parts=group.task.parts,
        worst_ratio=worst.ratio,
        ratio_now=max(place.ratio_now for place in expected),
        worst=worst,
        expected=expected,
        inside=worst.ratio <= 1.0,
        limited_by=limits_of(group.task, best),
        words="",
    )
    return replace(reach, words=reach_words(reach))
