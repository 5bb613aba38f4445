"""Growth of one adjustment with its covariances from 20 to 1,000 points and 10,000 spans.

The body grows with its points, as a coach grows with its length: every point is read against ten
of the thirty nearest before it, with one tape that has a scale and an offset, and every sixth has
given coordinates. Counted: the estimate, the variance of every coordinate, the redundancy of every
reading. `adjust` itself takes dense matrices for small networks and sparse ones for large.

A second row shows what is left of it on a body that does not grow, where every point may be read
against any other: there the normal matrix is full whatever is done.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray

from panelwright.fit.datum import adjust
from panelwright.fit.equations import Distances, Equations, Observations, Priors, Projections
from panelwright.fit.geometry import KNOWN, Geometry
from panelwright.fit.large import adjust_large, is_large
from panelwright.fit.snooping import redundancy_of

Floats = NDArray[np.float64]

POINTS = (20, 50, 100, 200, 500, 1000)
READ_AGAINST, REACH_MM = 10, 3000.0
PITCH_MM, SPAN_U_MM, GIVEN_U_MM, ASTRAY_MM = 175.0, 1.0, 2.0, 15.0
AIM = 1.2


def network(points: int, *, grows: bool) -> tuple[Equations, Floats]:
    """Equations and start of a simulated body."""
    random = np.random.default_rng(points)
    length = PITCH_MM * (points if grows else POINTS[0])
    true = random.uniform((0.0, -850.0, 300.0), (length, 850.0, 1700.0), (points, 3))
    true = true[np.argsort(true[:, 0])]
    reach = REACH_MM if grows else np.inf
    ends = [
        (k, int(j))
        for k in range(points)
        for j in random.permutation(np.flatnonzero(true[k, 0] - true[:k, 0] < reach))[:READ_AGAINST]
    ]
    a, b = np.array(ends, dtype=np.intp).T
    spans = np.linalg.norm(true[a] - true[b], axis=1) + random.normal(0.0, SPAN_U_MM, len(a))
    given = np.arange(0, points, 6)
    coordinates = true[given] + random.normal(0.0, GIVEN_U_MM, (len(given), 3))
    start = true + random.normal(0.0, ASTRAY_MM, true.shape)
    axes, count = coordinates.size, 3 * points
    roots = np.arange(count, dtype=np.intp).reshape(-1, 3)
    geometry = Geometry(start, roots, (), count + 2)

    def shared(unknown: int) -> NDArray[np.intp]:
        return np.concatenate([np.full(len(a), unknown), np.full(axes, KNOWN)]).astype(np.intp)

    equations = Equations(
        geometry,
        Observations(
            np.zeros(len(a) + axes),
            np.concatenate([spans, coordinates.ravel()]),
            np.concatenate([np.full(len(a), SPAN_U_MM), np.full(axes, GIVEN_U_MM)]),
            shared(count),
            shared(count + 1),
        ),
        Distances(np.arange(len(a)), a, b, np.ones(len(a))),
        Projections(
            len(a) + np.arange(axes),
            np.repeat(given, 3),
            np.tile(np.eye(3), (len(given), 1)),
        ),
        Priors(np.array([count, count + 1]), np.array([2e-4, 0.5])),
    )
    return equations, np.concatenate([start.ravel(), np.zeros(2)])


def whole(equations: Equations, start: Floats) -> Floats:
    """Estimate, variances and redundancies; gives the variances."""
    large = adjust_large(equations, start) if is_large(equations) else None
    if large is not None:
        assert len(large.redundancy)
        return large.variances
    found = adjust(equations, start, np.arange(len(equations.geometry.roots)))
    redundancy_of(found)
    return np.diagonal(found.covariance)


def least_ms(run: Callable[[], object], seconds: float = 1.0) -> float:
    """Least processor time of several runs: what the work takes, not the machine's other work."""
    taken: list[float] = []
    while len(taken) < 3 or sum(taken) < seconds:
        begun = time.process_time()
        run()
        taken.append(time.process_time() - begun)
    return 1e3 * min(taken)


def main() -> None:
    """Print a row for each size and the exponent over all."""
    for grows in (True, False):
        print("a body that grows with its points" if grows else "a body of 3.5 m, spans anywhere")
        times = []
        for points in POINTS:
            equations, start = network(points, grows=grows)
            times.append(least_ms(partial(whole, equations, start)))
            print(f"{points:6d} points {len(equations.distances.a):6d} spans {times[-1]:10.1f} ms")
        exponent = np.polyfit(np.log(POINTS), np.log(times), 1)[0]
        ends = np.log(times[-1] / times[0]) / np.log(POINTS[-1] / POINTS[0])
        aim = f" (aim {AIM:g})" if grows else ""
        print(f"exponent {exponent:.2f} over all sizes, {ends:.2f} from first to last{aim}")


if __name__ == "__main__":
    main()
