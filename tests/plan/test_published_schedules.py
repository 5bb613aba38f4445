"""The solver against published scheduling instances with known optima."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest
from tests.plan.checker import broken_rules
from tests.plan.instances import read_single_mode, read_with_lags

from panelwright.plan.answer import Status
from panelwright.plan.greedy import greedy
from panelwright.plan.solve import Effort, solve

if TYPE_CHECKING:
    from pathlib import Path

# Kolisch & Sprecher (1996), EJOR 96:205-216 [seen; two public collections agree, 480 of 480].
J30 = (
    *("j3011_7", "j3013_8", "j3016_10", "j3017_1", "j301_1", "j3021_3", "j3025_5", "j3027_6"),
    *("j3030_8", "j3033_9", "j303_2", "j3041_1", "j3045_3", "j3048_4", "j306_4", "j307_5"),
)
# Schwindt (1998), generator with minimal and maximal lags [seen].
WITH_LAGS = (
    *("sm_j10_psp1", "sm_j10_psp10", "sm_j10_psp2", "sm_j10_psp20", "sm_j10_psp3"),
    *("sm_j10_psp45", "sm_j10_psp90", "testset_ubo10_psp1", "testset_ubo10_psp20"),
    *("testset_ubo10_psp4", "testset_ubo10_psp7"),
)
LIMIT = Effort(deterministic_s=30.0)


def optimum(folder: Path, instance: str) -> str:
    with (folder / "schedules" / "optima.csv").open(encoding="utf-8") as file:
        table = {row["instance"]: row["optimum"] for row in csv.DictReader(file)}
    return table[instance]


@pytest.mark.published
@pytest.mark.parametrize("name", J30)
def test_the_published_optimum_of_j30_is_found_and_proven(
    reference_folder: Path, name: str
) -> None:
    network = read_single_mode(reference_folder / "schedules" / "j30" / f"{name}.sm")
    assert len(network.tasks) == 32

    schedule = solve(network, LIMIT)

    assert schedule.status is Status.OPTIMAL
    assert schedule.objective == int(optimum(reference_folder, f"j30/{name}.sm"))
    assert schedule.gap == 0.0
    assert broken_rules(network, schedule.spans) == []


@pytest.mark.published
@pytest.mark.parametrize("name", WITH_LAGS)
def test_the_published_optimum_with_time_lags_is_found_or_proven_impossible(
    reference_folder: Path, name: str
) -> None:
    network = read_with_lags(reference_folder / "schedules" / "rcpsp_max" / f"{name}.sch")
    assert len(network.tasks) == 12

    schedule = solve(network, LIMIT)

    published = optimum(reference_folder, f"rcpsp_max/{name}.sch")
    if published == "unsat":
        assert schedule.status is Status.INFEASIBLE
        assert schedule.why
        assert "was ruled out" not in schedule.why[0]
    else:
        assert schedule.status is Status.OPTIMAL
        assert schedule.objective == int(published)
        assert broken_rules(network, schedule.spans) == []


@pytest.mark.published
@pytest.mark.parametrize("name", J30)
def test_the_greedy_schedule_of_j30_is_sound_and_within_a_quarter(
    reference_folder: Path, name: str
) -> None:
    """Priority rules are reported 5 to 20 % above the optimum on J30 (Kolisch & Hartmann 1999)."""
    network = read_single_mode(reference_folder / "schedules" / "j30" / f"{name}.sm")

    spans = greedy(network)

    assert spans is not None
    assert broken_rules(network, spans) == []
    best = int(optimum(reference_folder, f"j30/{name}.sm"))
    assert best <= max(span.end for span in spans) <= 1.25 * best
