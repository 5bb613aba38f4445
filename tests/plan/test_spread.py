"""The band of the ready-for-paint time against closed forms."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

from panelwright.plan.forward import Clock, FixedOrder, assign, critical_path
from panelwright.plan.shares import PACE, shares_of
from panelwright.plan.spread import CASES, Doubt, lattice, lengths, run_cases
from panelwright.plan.tasks import (
    Between,
    Calendar,
    Lag,
    Need,
    Pause,
    Resource,
    Span,
    Task,
    TaskNetwork,
)

NORMAL = NormalDist()


@pytest.mark.exact
def test_one_log_normal_step_has_its_closed_form_quantiles() -> None:
    """Quantile of a log-normal: median · exp(z_p · σ)."""
    network = TaskNetwork((Task("a", 1000),), 10_000)
    spread = run_cases(network, (Span("a", 0, 1000),), {"a": Doubt(0.3)}, ["a"])
    for p in (0.5, 0.9):
        exact = 1000 * math.exp(0.3 * NORMAL.inv_cdf(p))
        # The shared spread of 0.10 adds in quadrature: σ = √(0.3² + 0.1²).
        both = 1000 * math.exp(math.hypot(0.3, 0.1) * NORMAL.inv_cdf(p))
        assert spread.quantile("a", p) == pytest.approx(both, rel=0.04)
        assert p == 0.5 or abs(both - exact) > 0.01 * exact


@pytest.mark.exact
def test_a_wait_is_never_shorter_than_its_late_bound_and_longer_in_one_case_of_ten() -> None:
    network = TaskNetwork((Task("cure", 1200),), 10_000)
    spread = run_cases(network, (Span("cure", 0, 1200),), {"cure": Doubt(late_ratio=1.5)}, ["cure"])
    ends = spread.ends["cure"]
    assert min(ends) == 1200
    assert sum(end > 1200 for end in ends) / CASES == pytest.approx(0.1, abs=0.02)


@pytest.mark.exact
def test_a_chain_adds_variances_of_independent_steps() -> None:
    """Sum of 12 log-normals, σ = 0.3: mean and variance are sums (independent, by hand)."""
    tasks = tuple(Task(f"t{k}", 1000) for k in range(12))
    lags = tuple(Lag(f"t{k}", f"t{k + 1}") for k in range(11))
    spans = tuple(Span(f"t{k}", 1000 * k, 1000 * (k + 1)) for k in range(12))
    doubts = {f"t{k}": Doubt(0.3, shared=f"s{k}") for k in range(12)}
    spread = run_cases(TaskNetwork(tasks, 100_000, lags=lags), spans, doubts, ["t11"])
    sigma2 = 0.3**2 + 0.1**2
    mean = 12_000 * math.exp(sigma2 / 2)
    deviation = math.sqrt(12) * 1000 * math.exp(sigma2 / 2) * math.sqrt(math.exp(sigma2) - 1)
    ends = spread.ends["t11"]
    assert sum(ends) / CASES == pytest.approx(mean, rel=0.02)
    assert (spread.quantile("t11", 0.9) - mean) / deviation == pytest.approx(1.3, abs=0.35)


@pytest.mark.exact
def test_steps_that_share_a_spread_do_not_average_out() -> None:
    """Twenty steps, own σ = 0.2, shared σ = 0.1: of the sum σ² ≈ 0.1² + 0.2²/20."""
    tasks = tuple(Task(f"t{k}", 1000) for k in range(20))
    lags = tuple(Lag(f"t{k}", f"t{k + 1}") for k in range(19))
    spans = tuple(Span(f"t{k}", 1000 * k, 1000 * (k + 1)) for k in range(20))
    doubts = {task.id: Doubt(0.2, shared="one repair") for task in tasks}
    spread = run_cases(TaskNetwork(tasks, 100_000, lags=lags), spans, doubts, ["t19"])
    ratio = spread.quantile("t19", 0.9) / spread.quantile("t19", 0.5)
    sigma = math.hypot(0.1, 0.2 / math.sqrt(20))
    assert ratio == pytest.approx(math.exp(NORMAL.inv_cdf(0.9) * sigma), abs=0.03)


@pytest.mark.invariant
def test_the_lattice_fills_each_axis_evenly() -> None:
    for dimension in (0, 1, 17, 60):
        values = sorted(lattice(case, dimension) for case in range(CASES))
        assert all(0.0 < value < 1.0 for value in values)
        worst = max(abs(value - (k + 0.5) / CASES) for k, value in enumerate(values))
        assert worst < 0.05


@pytest.mark.invariant
def test_what_is_certain_does_not_vary() -> None:
    network = TaskNetwork((Task("a", 10), Task("b", 20)), 100)
    assert lengths(network, {"b": Doubt(0.5)}, 3)["a"] == 10


@pytest.mark.exact
def test_a_longer_step_pushes_the_next_over_the_night() -> None:
    calendar = Calendar("shop", ((0, 100), (500, 600)))
    hand = (Need("hand"),)
    tasks = (
        Task("a", 80, hand, "shop", Pause.PAUSES),
        Task("b", 20, hand, "shop", Pause.UNBROKEN),
    )
    network = TaskNetwork(tasks, 600, (Resource("hand", 1),), (Lag("a", "b"),), (calendar,))
    order = FixedOrder(network, (Span("a", 0, 80), Span("b", 80, 100)))
    assert order.run({"a": 80, "b": 20})["b"] == (80, 100)
    assert order.run({"a": 81, "b": 20})["b"] == (500, 520)


@pytest.mark.exact
def test_the_bead_waits_with_its_rivets_where_they_would_cross_the_night() -> None:
    calendar = Calendar("shop", ((0, 100), (500, 600)))
    hand = (Need("hand"),)
    tasks = tuple(
        Task(name, length, hand, "shop", Pause.UNBROKEN)
        for name, length in (("first", 60), ("bead", 10), ("rivets", 30))
    )
    lags = (Lag("first", "bead"), Lag("bead", "rivets", most=0))
    network = TaskNetwork(tasks, 600, (Resource("hand", 1),), lags, (calendar,))
    spans = (Span("first", 0, 60), Span("bead", 60, 70), Span("rivets", 70, 100))
    times = FixedOrder(network, spans).run({"first": 65, "bead": 10, "rivets": 30})
    assert times["bead"] == (500, 510)
    assert times["rivets"] == (510, 540)


@pytest.mark.exact
def test_work_times_that_are_missed_are_counted() -> None:
    tasks = (Task("bead", 30), Task("rivets", 30))
    lags = (
        Lag("bead", "rivets", most=0),
        Lag("bead", "rivets", Between.START_END, None, 60, "work time: 60 min"),
    )
    network = TaskNetwork(tasks, 1000, lags=lags)
    spans = (Span("bead", 0, 30), Span("rivets", 30, 60))
    doubts = {"bead": Doubt(0.2), "rivets": Doubt(0.2)}
    missed = run_cases(network, spans, doubts, ["rivets"]).missed
    assert missed["work time: 60 min"] == pytest.approx(0.5, abs=0.08)


@pytest.mark.exact
def test_units_are_shared_out_so_that_none_is_used_twice() -> None:
    tasks = (
        Task("a", 5, (Need("hand"),)),
        Task("b", 5, (Need("hand"),)),
        Task("c", 5, (Need("hand"),)),
    )
    network = TaskNetwork(tasks, 100, (Resource("hand", 2),))
    units = assign(network, (Span("a", 0, 5), Span("b", 2, 7), Span("c", 5, 10)))
    assert [units[name][0].number for name in "abc"] == [1, 2, 1]


@pytest.mark.exact
def test_the_critical_path_leaves_out_what_has_slack() -> None:
    tasks = (Task("long", 9), Task("short", 2), Task("end", 1))
    lags = (Lag("long", "end"), Lag("short", "end"))
    network = TaskNetwork(tasks, 100, lags=lags)
    spans = (Span("long", 0, 9), Span("short", 0, 2), Span("end", 9, 10))
    order = FixedOrder(network, spans)
    times = order.run({"long": 9, "short": 2, "end": 1})
    assert critical_path(order, times, ["end"]) == ("long", "end")


@pytest.mark.exact
def test_shares_of_a_chain_are_the_squares_of_its_steps_deviations() -> None:
    """Two steps one after the other: variances add, so shares are σ₁²a² to σ₂²b² (by hand)."""
    tasks = (Task("a", 1000), Task("b", 3000), Task("c", 10))
    network = TaskNetwork(tasks, 10_000, lags=(Lag("a", "b"), Lag("b", "c")))
    spans = (Span("a", 0, 1000), Span("b", 1000, 4000), Span("c", 4000, 4010))
    found = dict(shares_of(network, spans, {"a": Doubt(0.1), "b": Doubt(0.2), "c": Doubt()}, "c"))
    exact = {
        k: (math.exp(s) - 1) ** 2 + (1 - math.exp(-s)) ** 2 for k, s in (("a", 0.1), ("b", 0.2))
    }
    weights = {"a": 1000**2 * exact["a"], "b": 3000**2 * exact["b"]}
    for step, weight in weights.items():
        assert found[step] == pytest.approx(weight / sum(weights.values()), rel=5e-3)
    assert PACE not in found


@pytest.mark.exact
def test_what_is_not_on_the_way_has_no_share_and_the_pace_has_its_own() -> None:
    tasks = (Task("a", 1000), Task("aside", 200), Task("end", 0))
    network = TaskNetwork(tasks, 10_000, lags=(Lag("a", "end"), Lag("aside", "end")))
    spans = (Span("a", 0, 1000), Span("aside", 0, 200), Span("end", 1000, 1000))
    doubts = {"a": Doubt(0.1, shared="r"), "aside": Doubt(0.3, shared="r")}
    found = dict(shares_of(network, spans, doubts, "end"))
    # The pace of a repair spreads by 0.10 as the step itself does: half each.
    assert found == {"a": pytest.approx(0.5, abs=0.01), PACE: pytest.approx(0.5, abs=0.01)}


@pytest.mark.exact
def test_past_the_last_window_work_waits_for_the_same_hours_of_the_next_week() -> None:
    day, week = 24 * 60, 7 * 24 * 60
    hours = tuple((d * day + 480, d * day + 600) for d in range(8) if d % 7 < 5)
    clock = Clock(Calendar("shop", hours))
    # The eighth day is a Monday again; on Tuesday at 08:00 the work goes on.
    assert clock.span(60, Pause.PAUSES, week + 570) == (week + 570, week + day + 510)
    assert clock.span(60, Pause.UNBROKEN, week + 570) == (week + day + 480, week + day + 540)
