"""A skin that is not pinned yet gives: twist and bow of its own beside shift and turn."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.answer import Status
from panelwright.fit.datum import adjust
from panelwright.fit.hung import is_pinned
from panelwright.fit.notes import left_out
from panelwright.fit.part_answer import Spring
from panelwright.fit.settings import BEFORE
from panelwright.fit.skin_modes import MODES
from panelwright.fit.snooping import fails_high, global_test
from panelwright.fit.words import place_words
from panelwright.quantities import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from panelwright.facts.models.parts import Part
    from panelwright.facts.problem import Problem
    from panelwright.facts.repair import Repair
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.network import Network
    from panelwright.fit.settings import Settings
    from panelwright.fit.verdicts import PartState

    Floats = NDArray[np.float64]

SPRING_U_MM = 1.0
"""How far a skin in its clamps is twisted or bowed. Common practice, no source."""
SEEN = 2.0
"""A mode is told as spring beyond so many of its uncertainties."""
_TRIED_U_MM = 3.0
_WORTH = 13.8
"""What two modes must take off the sum of squares: chi-square of 2, 0.1 %."""


def spring_u_mm(part: Part, setting: int, repair: Repair, settings: Settings) -> float:
    """How far a part may be twisted or bowed in one dry fit.

    Parameters
    ----------
    part : Part
    setting : int
    repair : Repair
    settings : Settings

    Returns
    -------
    float
        Standard uncertainty of each mode's amplitude; 0: rigid [mm].
    """
    if part.spring is None or part.flex != "skin" or setting == BEFORE:
        return 0.0
    if setting == settings.latest_of(part.id) and is_pinned(part.id, repair):
        return 0.0
    return part.spring.mm


def springs_of(state: PartState, network: Network, adjusted: Adjusted) -> tuple[Spring, ...]:
    """Twist and bow of a part as the readings show them.

    Parameters
    ----------
    state : PartState
    network : Network
    adjusted : Adjusted

    Returns
    -------
    tuple of Spring
        None where the part is taken as rigid.
    """
    found = []
    for number, unknown in enumerate(state.posed.spring):
        if unknown < 0:
            continue
        amplitude = float(adjusted.x[unknown])
        u_mm = float(np.sqrt(max(float(adjusted.covariance[unknown, unknown]), 0.0)))
        of_points = state.posed.modes[: max(len(state.pose.points), 1), :, number]
        worst = int(np.argmax(np.linalg.norm(of_points, axis=1)))
        place = place_words(state.home[worst], state.home)
        seen = abs(amplitude) > SEEN * u_mm
        name = MODES[number]
        label = network.repair.part_by_id[state.pose.part].label
        words = f"{label}: no {name} seen, {abs(amplitude):.1f} ± {u_mm:.1f} mm"
        if seen:
            words = (
                f"{label}: the skin is sprung: {name} {abs(amplitude):.1f} ± {u_mm:.1f} mm at the "
                f"{place}; it is not out of place there, ease what strains it before it is pinned"
            )
        found.append(Spring(name, amplitude, u_mm, place, seen, words))
    return tuple(found)


def looks_sprung(network: Network, adjusted: Adjusted) -> Iterator[Problem]:
    """Skins taken as rigid whose twist or bow would make readings agree that do not.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted

    Yields
    ------
    Problem
        One a part, in words; nothing where the readings agree.
    """
    if not fails_high(global_test(adjusted)):
        return
    from panelwright.fit.network import network_of  # noqa: PLC0415 - it asks for the modes here

    repair = network.repair
    posed = {pose.part for pose in network.poses if pose.points}
    for part in repair.parts:
        may = part.spring is None and part.flex == "skin" and part.id in posed
        if not may or is_pinned(part.id, repair):
            continue
        sprung = part.model_copy(update={"spring": Length.parse(f"{_TRIED_U_MM} mm")})
        parts = tuple(sprung if other.id == part.id else other for other in repair.parts)
        tried = network_of(replace(repair, parts=parts))
        found = adjust(tried.equations, tried.start, tried.frame)
        gain = adjusted.sum_of_squares - found.sum_of_squares
        if found.status is not Status.CONVERGED or gain < _WORTH or fails_high(global_test(found)):
            continue
        told = [
            f"{name} {abs(float(found.x[k])):.1f} mm"
            for posed_part in tried.posed
            for name, k in zip(MODES, posed_part.spring, strict=False)
            if k >= 0 and abs(found.x[k]) > SEEN * np.sqrt(found.covariance[k, k])
        ]
        yield left_out(
            f"part {part.id}",
            f"the readings disagree if {part.label} is rigid, and agree if its skin is sprung "
            f"({', '.join(told) or 'a little'}): let it go and read again, or say "
            'spring = "1 mm" on that part until it is pinned',
        )
