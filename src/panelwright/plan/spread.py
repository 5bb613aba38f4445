"""How sure the ready-for-paint time is: the schedule's order run through with other step lengths.

Each step's time is log-normal about its usual length; all steps of a repair also share a spread
(this vehicle, these hands). A joint is never let go before the late bound of its handling time,
so waits can only grow. The cases are a lattice, not random numbers: the same plan always has the
same band.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

from panelwright.plan.clocks import WORK
from panelwright.plan.forward import FixedOrder
from panelwright.plan.library import settings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.plan.draft import Draft
    from panelwright.plan.tasks import Span, TaskNetwork

CASES = 199
"""With 199 cases the 100th and the 180th are the 50 and 90 % quantiles (rank p·(n + 1))."""
_NORMAL = NormalDist()


@dataclass(frozen=True)
class Spread:
    """Ends of the watched tasks over all cases, ascending; how often each work time was missed."""

    ends: Mapping[str, tuple[int, ...]]
    missed: Mapping[str, float]

    def quantile(self, task: str, p: float) -> int:
        """Minute by which the task ends with probability p."""
        values = self.ends[task]
        rank = min(max(math.ceil(p * (len(values) + 1) - 1e-9), 1), len(values))
        return values[rank - 1]


@dataclass(frozen=True)
class Doubt:
    """How a task's length varies.

    Parameters
    ----------
    spread : float
        Standard deviation of the logarithm of its time; 0 for a fixed one.
    shared : str
        Tasks of one name share a spread.
    late_ratio : float
        For a cure: late over likely time; the wait grows where the case is later than late.
    again : (float, float)
        Chance that part of it is done again, and the minutes that takes.
    """

    spread: float = 0.0
    shared: str = ""
    late_ratio: float = 1.0
    again: tuple[float, float] = (0.0, 0.0)


def lattice(case: int, dimension: int) -> float:
    """Number of a Kronecker lattice in (0, 1): the fraction of case × √(prime of the dimension).

    References
    ----------
    Niederreiter, H. (1992): Random Number Generation and Quasi-Monte Carlo Methods. SIAM,
    chapter 3 (from memory).
    """
    return ((case + 1) * math.sqrt(_prime(dimension)) + 0.5) % 1.0


def _prime(number: int) -> int:
    while len(_PRIMES) <= number:
        candidate = _PRIMES[-1] + 2
        while any(candidate % p == 0 for p in _PRIMES if p * p <= candidate):
            candidate += 2
        _PRIMES.append(candidate)
    return _PRIMES[number]


_PRIMES = [2, 3]


def lengths(network: TaskNetwork, doubts: Mapping[str, Doubt], case: int) -> dict[str, int]:
    """Length of every task in one case, whole minutes."""
    shared = {doubt.shared for doubt in doubts.values()}
    common = {
        name: settings()["shared_spread"] * _NORMAL.inv_cdf(lattice(case, place))
        for place, name in enumerate(sorted(shared))
    }
    found = {}
    for place, task in enumerate(network.tasks):
        doubt = doubts.get(task.id, Doubt())
        u = lattice(case, len(common) + place)
        found[task.id] = length_of(task.duration, doubt, u, common.get(doubt.shared, 0.0))
    return found


def length_of(duration: int, doubt: Doubt, u: float, common: float) -> int:
    """Minutes that a task takes at the quantile `u` of its own spread.

    Parameters
    ----------
    duration : int
        Its usual time. [min]
    doubt : Doubt
    u : float
        0 to 1.
    common : float
        Logarithm of the pace that it shares with others.
    """
    z = _NORMAL.inv_cdf(min(max(u, 1e-9), 1 - 1e-9))
    if doubt.late_ratio > 1.0:
        sigma = math.log(doubt.late_ratio) / _NORMAL.inv_cdf(0.9)
        likely = duration / doubt.late_ratio
        return max(duration, math.ceil(likely * math.exp(sigma * z)))
    if doubt.spread <= 0.0 or duration == 0:
        return duration
    length = duration * math.exp(doubt.spread * z + common)
    chance, minutes = doubt.again
    length += minutes if (u * 7.0 + 0.5) % 1.0 < chance else 0.0
    return max(1, round(length))


def run_cases(
    network: TaskNetwork,
    spans: Sequence[Span],
    doubts: Mapping[str, Doubt],
    watched: Sequence[str],
) -> Spread:
    """Ends of the watched tasks over all cases."""
    order = FixedOrder(network, spans, left_out=WORK)
    work = [lag for lag in network.lags if lag.name.startswith(WORK) and lag.most is not None]
    ends: dict[str, list[int]] = {id_: [] for id_ in watched}
    missed = dict.fromkeys((lag.name for lag in work), 0)
    for case in range(CASES):
        times = order.run(lengths(network, doubts, case))
        for id_ in watched:
            ends[id_].append(times[id_][1])
        for lag in work:
            if lag.most is not None and times[lag.after][1] - times[lag.before][0] > lag.most:
                missed[lag.name] += 1
    return Spread(
        {id_: tuple(sorted(values)) for id_, values in ends.items()},
        {name: count / CASES for name, count in missed.items()},
    )


def doubt_of(draft: Draft, repair: str, late_ratio: float, again: tuple[float, float]) -> Doubt:
    """How a step's length varies."""
    if draft.base in {"cure", "full-cure"}:
        return Doubt(late_ratio=late_ratio)
    if draft.base == "measure-fit":
        return Doubt(draft.spread, repair, again=again)
    return Doubt(draft.spread, repair if not draft.is_wait else "")
