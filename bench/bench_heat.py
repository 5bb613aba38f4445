"""Time the temperature history of a heated plate, beside a stiff solver and finite elements.

Two hours on 1.2 × 0.8 m with a flange down its middle, cells and elements of 10 mm, a lamp that is
moved twice. All three are compared with SciPy's BDF at tight tolerances on cells of 5 mm, at 456
places and every time that each of them gives. The rivals' settings are the fastest of those tried
that stay within 0.3 K. Then the fixed ensemble and a lamp plan on the demonstration repair, each
beside as many single runs. Processor time, on one thread.

    python bench/bench_heat.py [rounds]
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
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from plate_rivals import Elements, Task, by_bdf, most_off

from panelwright.bond import clocks
from panelwright.bond.ensemble import fixed_ensemble, middle
from panelwright.bond.entries import adhesive_of, heatings_of
from panelwright.bond.heat import (
    NARROWEST_MM,
    PLATE_CELL_MM,
    WIDENING,
    HeatPlan,
    heat_plan,
    panel_setup,
)
from panelwright.bond.history import places_history, temperature_history
from panelwright.bond.loss import ConvectiveLoss
from panelwright.bond.panel import LampSetup, PanelSetup
from panelwright.bond.placing import best_placing, cold_times, standings
from panelwright.bond.plate import Layer, Plate, Strip, graded, plate_of
from panelwright.bond.sheet import read_sheet
from panelwright.facts.file import read
from panelwright.facts.models.bonding import Adhesive

Floats = NDArray[np.float64]

EXAMPLE = Path(__file__).resolve().parents[1] / "examples" / "heron.toml"
SKIN, INNER = Layer(160.0, 2700.0, 900.0, 1.0), Layer(130.0, 2700.0, 900.0, 1.5)
GLUE = Layer(0.2, 1300.0, 1500.0, 0.3)
STRIPS = (Strip(390.0, (INNER,)), Strip(20.0, (INNER, GLUE, SKIN)), Strip(390.0, (SKIN,)))
CELL_MM, FINE_MM = 10.0, 5.0
LONG_MM = 1200.0
LAMP_MM = ((250.0, 0.0, 40.0), (600.0, 40.0, 80.0), (950.0, 80.0, 120.0))
"""Where it stands along the flange, and from when to when [min]."""
PLACES_MM = np.array(
    [
        (x, y)
        for x in np.arange(25.0, LONG_MM, 50.0)
        for y in (*np.arange(-375.0, 400.0, 50.0), -10.0, 0.0, 10.0)
    ]
)
BY_FLANGE = np.abs(PLACES_MM[:, 1]) < 5.0
TIGHT = (1e-5, 1e-4)
RTOL, ATOL = 1e-3, 0.2
"""Of the BDF that is timed: the loosest of a few that stays within 0.3 K."""
LENGTHS_S, EACH = (8.0, 40.0, 120.0), 6
"""Steps of the elements, likewise: six of 8 s and of 40 s after a switch, then 120 s."""
STIFF_AIM, ELEMENTS_AIM = 15.0, 5.0
ENSEMBLE_AIM_S, PLAN_AIM_S = 2.0, 5.0
WITHIN_K = 0.3


def plate(cell_mm: float) -> Plate:
    """The plate with its flange about 0 across."""
    return plate_of((0.0, LONG_MM), STRIPS, cell_mm, first_mm=-400.0)


def coarse() -> Plate:
    """The same in cells as an answer has them."""
    inner, flange, skin = STRIPS
    strips = (
        *graded(inner, NARROWEST_MM, WIDENING, outward=False),
        flange,
        *graded(skin, NARROWEST_MM, WIDENING, outward=True),
    )
    return plate_of((0.0, LONG_MM), strips, PLATE_CELL_MM, first_mm=-400.0)


def heated() -> PanelSetup:
    """A panel in still air before a lamp of 1 kW, 400 mm away, that is moved twice."""
    one = np.ones(1)
    lamps = tuple(
        LampSetup(1000.0 * one, 400.0 * one, (300.0, 100.0), (x, 0.0), 0.65 * one, ((start, end),))
        for x, start, end in LAMP_MM
    )
    air = ConvectiveLoss.still_air(20.0, 0.6)
    warm, spots = 20.0 * one, np.linspace(0.0, LONG_MM, 21)
    return PanelSetup(spots, warm, warm, warm, 4860.0, 1.5 * one, air, one, lamps, 120.0)


def seconds(runs: list[Callable[[], object]], rounds: int) -> list[list[float]]:
    """Processor time of each, taken in turns so that a busy machine slows all alike."""
    taken: list[list[float]] = [[] for _ in runs]
    for _ in range(rounds):
        for run, times in zip(runs, taken, strict=True):
            begun = time.process_time()
            run()
            times.append(time.process_time() - begun)
    return taken


def said(name: str, taken: list[float], rest: str) -> None:
    best, middle_ms = 1e3 * min(taken), 1e3 * statistics.median(taken)
    print(f"{name:44} {best:8.1f} ms at best {middle_ms:8.1f} ms in the median  {rest}")


def history(rounds: int) -> None:
    """One history of the plate, beside the two rivals."""
    setup, same = heated(), plate(CELL_MM)
    own = places_history(setup, same, PLACES_MM)
    times_s = 60.0 * own.minutes
    task = Task(setup, same, PLACES_MM, times_s)
    by_elements_s, by_elements = Elements(task).run(LENGTHS_S, EACH)
    whole_s = np.union1d(times_s, by_elements_s)
    fine = by_bdf(Task(setup, plate(FINE_MM), PLACES_MM, whole_s), rtol=TIGHT[0], atol=TIGHT[1])
    tight = by_bdf(Task(setup, same, PLACES_MM, whole_s), rtol=TIGHT[0], atol=TIGHT[1])
    answer = places_history(setup, coarse(), PLACES_MM)
    finer = float(np.max(np.abs(tight - fine)))
    stiff = by_bdf(task, rtol=RTOL, atol=ATOL)
    print(
        f"{len(same.along_mm)} × {len(same.across_mm)} cells, {len(PLACES_MM)} places, up to "
        f"{fine.max():.1f} °C; cells of 5 mm move the answer by {finer:.2f} K at most"
    )
    taken = seconds(
        [
            lambda: places_history(setup, same, PLACES_MM),
            lambda: by_bdf(task, rtol=RTOL, atol=ATOL),
            lambda: Elements(task).run(LENGTHS_S, EACH),
            lambda: places_history(setup, coarse(), PLACES_MM),
        ],
        rounds,
    )
    found = (
        ("panelwright.bond", times_s, own.celsius[0], 0.0),
        (f"solve_ivp, BDF, rtol {RTOL:g}, atol {ATOL:g} K", times_s, stiff, STIFF_AIM),
        ("scikit-fem, Crank–Nicolson", by_elements_s, by_elements, ELEMENTS_AIM),
        ("panelwright.bond, cells as in an answer", times_s, answer.celsius[0], 0.0),
    )
    for (name, at_s, celsius, aim), times in zip(found, taken, strict=True):
        off = most_off(at_s, celsius, whole_s, fine)
        ratios = [other / mine for other, mine in zip(times, taken[0], strict=True)]
        ratio = f", ratio {statistics.median(ratios):5.1f} (aim {aim:g})" if aim else ""
        said(name, times, f"{len(at_s):4} times, {off:.2f} K off{ratio}")
        if off > WITHIN_K:
            print(f"  beyond {WITHIN_K:g} K")
    low = answer.celsius[0][BY_FLANGE] - fine[BY_FLANGE][:, np.searchsorted(whole_s, times_s)]
    print(f"  on the flange {np.max(np.abs(low)):.2f} K off")


def example() -> tuple[HeatPlan, Adhesive]:
    """The demonstration repair's joint with a lamp."""
    repair = read(EXAMPLE.read_text(encoding="utf-8"))
    for joint in repair.joints:
        adhesive, _ = adhesive_of(repair, joint)
        lamps, _ = heatings_of(repair, joint, clocks.recorded((), joint.id))
        if adhesive is not None and lamps:
            return heat_plan(repair, joint, adhesive, lamps, ()), adhesive
    raise ValueError("no joint of the demonstration is heated")


def many(rounds: int) -> None:
    """The ensemble and a lamp plan, each beside as many single runs."""
    plan, adhesive = example()
    lamp, law = plan.lamps[0], read_sheet(adhesive).law
    everyone, likely = panel_setup(plan, fixed_ensemble()), panel_setup(plan, middle())
    members, ways = len(everyone.air_C), standings(plan.spots_mm[-1])
    plan = replace(plan, lamps=(lamp,))

    def one_by_one() -> None:
        for _ in range(members):
            temperature_history(likely)

    def way_by_way() -> None:
        for way in ways:
            cold_times(plan, lamp, law, [way])

    for name, aim_s, together, alone in (
        (f"{members} members", ENSEMBLE_AIM_S, lambda: temperature_history(everyone), one_by_one),
        (
            f"{len(ways)} placements of a lamp",
            PLAN_AIM_S,
            lambda: cold_times(plan, lamp, law, ways),
            way_by_way,
        ),
    ):
        both = seconds([together, alone], rounds)
        ratio = statistics.median(b / a for a, b in zip(*both, strict=True))
        said(name, both[0], f"aim {aim_s:g} s")
        said("  as many single runs", both[1], f"ratio {ratio:5.1f}")
    whole = seconds([lambda: best_placing(plan, lamp, law, 80.0)], rounds)
    said("lamp plan, the best with all their spread", whole[0], f"aim {PLAN_AIM_S:g} s")


def main(rounds: int) -> None:
    history(rounds)
    many(max(rounds // 3, 1))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
