"""Time the ranking of every candidate reading of a 24-point repair, in adjustments.

The repair is drawn here: twelve points of a body and twelve of a panel, half of whose readings are
taken, so that every point and station is undecided. One adjustment is the same network solved with
its covariance. Both are taken in turns on one thread.

    python bench/bench_next.py [repeats]
"""

# ruff: noqa: E402  # the number of threads is set before numpy reads it
from __future__ import annotations

import os

for variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[variable] = "1"

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from panelwright.facts.file import document_from
from panelwright.facts.repair import Repair, repair_of
from panelwright.fit.datum import adjust
from panelwright.fit.earlier import bare_fit
from panelwright.fit.network import network_of
from panelwright.fit.next_reading import next_readings, order_of, readings_together
from panelwright.fit.stations import judge_stations
from panelwright.fit.survey import Survey, survey_of
from panelwright.fit.verdicts import Judge, part_state

HALF = 12
AIM = 10.0
OFF_MM = np.array([2.0, -1.0, 1.2])


def simulated() -> Repair:
    """Twelve points of a body with u 1 mm, twelve of a panel about 2.5 mm off."""
    random = np.random.default_rng(2411)
    body = random.uniform((0.0, -850.0, 300.0), (2600.0, 850.0, 1700.0), (HALF, 3))
    panel = random.uniform((300.0, -900.0, 400.0), (2300.0, -780.0, 1600.0), (HALF, 3))
    point: list[dict[str, Any]] = [
        {"id": f"B{k}", "xyz": xyz.tolist(), "u": 1} for k, xyz in enumerate(body)
    ]
    point += [
        {
            "id": f"P{k}",
            "on": "outer",
            "xyz": xyz.tolist(),
            "u": 0.5,
            "home": "xyz",
            "tolerance": 3,
        }
        for k, xyz in enumerate(panel)
    ]
    hung = panel + OFF_MM
    reading: list[dict[str, Any]] = []
    for k in range(HALF):
        length = float(np.linalg.norm(hung[k] - body[k])) + random.normal(0.0, 1.0)
        reading.append({"from": f"P{k}", "to": f"B{k}", "value": length, "with": "tape"})
    station = [
        {
            "id": f"s{k}",
            "part": "outer",
            "xyz": panel[k].tolist(),
            "gap_towards": [1, 0, 0],
            "flush_towards": [0, -1, 0],
            "gap": {"want": 5, "tolerance": 2},
            "flush": {"want": 0, "tolerance": 2},
        }
        for k in range(6)
    ]
    tables = {
        "repair": {"name": "bench"},
        "part": [{"id": "outer", "state": "replace"}],
        "point": point,
        "station": station,
        "reading": reading,
        "tool": [{"id": "tram"}],
    }
    return repair_of(document_from(tables))


def medians_ms(runs: list[Callable[[], object]], repeats: int) -> list[float]:
    """Median time of each, taken in turns so that a busy machine slows all alike."""
    taken: list[list[float]] = [[] for _ in runs]
    for _ in range(repeats):
        for run, times in zip(runs, taken, strict=True):
            begun = time.perf_counter()
            run()
            times.append(time.perf_counter() - begun)
    return [1e3 * statistics.median(times) for times in taken]


def main(repeats: int) -> None:
    network = network_of(simulated())
    adjusted = adjust(network.equations, network.start, network.frame)
    placed = network.geometry.place(adjusted.x)
    judge = Judge(0.95, may_be_inside=True)
    states = []
    for pose in network.latest_poses():
        state = part_state(network, adjusted, placed, *pose)
        stations = judge_stations(state.pose.part, network, adjusted, placed, judge)
        fit = replace(bare_fit(state, network, adjusted, judge), stations=stations)
        states.append((state, fit))
    told = tuple(states)

    def surveyed() -> Survey:
        found = survey_of(network, adjusted, placed, told, judge)
        if found is None:
            raise SystemExit("nothing is in doubt; the bench measures nothing")
        return found

    survey = surveyed()
    one_ms, rank_ms, rest_ms = medians_ms(
        [
            lambda: adjust(network.equations, network.start, network.frame),
            lambda: order_of(surveyed()),
            lambda: (next_readings(survey), readings_together(survey)),
        ],
        repeats,
    )
    print(
        f"{2 * HALF} points, {network.geometry.size} unknowns, {len(survey.pool.what)} candidates, "
        f"{len(survey.doubted)} places in doubt"
    )
    print(f"one adjustment with covariance         {one_ms:8.2f} ms")
    print(f"every candidate ranked                 {rank_ms:8.2f} ms")
    print(f"five best in full, sets of two, three  {rest_ms:8.2f} ms")
    print(f"ranking in adjustments                 {rank_ms / one_ms:8.1f}     (aim below {AIM:g})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
