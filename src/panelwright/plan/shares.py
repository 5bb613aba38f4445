"""Which steps the spread of the ready-for-paint time comes from.

One step at a time is made one standard deviation longer and shorter while all others take their
usual time; the squares of what that does to the end are the shares (first-order propagation of
uncertainty, JCGM 100:2008, 5.1.2, from memory). Working hours make the end jump, so the shares say
which step matters most, not by how many minutes.
"""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist
from typing import TYPE_CHECKING

from panelwright.plan.clocks import WORK
from panelwright.plan.forward import FixedOrder
from panelwright.plan.library import settings
from panelwright.plan.spread import Doubt, length_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.plan.tasks import Span, TaskNetwork

_NORMAL = NormalDist()
PACE = ""
"""Stands in place of a step for the pace that all steps of a repair share."""


def shares_of(
    network: TaskNetwork, spans: Sequence[Span], doubts: Mapping[str, Doubt], goal: str
) -> tuple[tuple[str, float], ...]:
    """Shares of the variance of a task's end, largest first.

    Parameters
    ----------
    network : TaskNetwork
    spans : sequence of Span
        The schedule, whose order is kept.
    doubts : mapping
        How tasks' lengths vary, by id.
    goal : str
        The task whose end is asked for.

    Returns
    -------
    tuple of (str, float)
        Task id, or `PACE`, and its share, 0 to 1; empty where nothing moves the end.
    """
    order = FixedOrder(network, spans, left_out=WORK)
    usual = {task.id: task.duration for task in network.tasks}
    known = {id_: doubt for id_, doubt in doubts.items() if usual.get(id_, 0) > 0}
    base = order.run(usual)[goal][1]
    sigma = settings()["shared_spread"]

    def moved(lengths: Mapping[str, int]) -> float:
        end = order.run({**usual, **lengths})[goal][1]
        return float(end - base) ** 2

    def by(varied: Mapping[str, Doubt], own: float, common: float) -> float:
        """Square of what both ways do, on the average."""
        ways = [
            {i: _length(usual[i], doubt, sign * own, sign * common) for i, doubt in varied.items()}
            for sign in (1.0, -1.0)
        ]
        return sum(moved(lengths) for lengths in ways) / 2

    found = {id_: by({id_: doubt}, 1.0, 0.0) for id_, doubt in known.items()}
    for id_, doubt in known.items():
        chance, minutes = doubt.again
        if 0.0 < chance < 1.0:
            found[id_] += chance * (1 - chance) * moved({id_: usual[id_] + round(minutes)})
    found[PACE] = by({i: d for i, d in known.items() if d.shared}, 0.0, sigma)
    total = sum(found.values())
    ranked = sorted(found.items(), key=lambda item: (-item[1], item[0]))
    return tuple((id_, value / total) for id_, value in ranked if value > 0.0)


def _length(duration: int, doubt: Doubt, z: float, common: float) -> int:
    return length_of(duration, replace(doubt, again=(0.0, 0.0)), _NORMAL.cdf(z), common)
