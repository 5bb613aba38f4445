"""The solver on small questions whose answer is known, and against another library."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from pyjobshop import Model as OtherModel
from tests.plan.checker import broken_rules

from panelwright.plan.answer import Status
from panelwright.plan.greedy import greedy, objective
from panelwright.plan.solve import Effort, solve
from panelwright.plan.tasks import (
    Between,
    Calendar,
    Goal,
    Lag,
    Need,
    Pause,
    Resource,
    Span,
    Task,
    TaskNetwork,
)

HAND = (Need("hand"),)
ONE_HAND = (Resource("hand", 1),)
SHIFTS = Calendar("shop", ((0, 10), (15, 25), (60, 70), (75, 85)))


def shop_task(name: str, duration: int, pause: Pause = Pause.PAUSES) -> Task:
    return Task(name, duration, HAND, "shop", pause)


def shop(*tasks: Task, lags: tuple[Lag, ...] = (), horizon: int = 85) -> TaskNetwork:
    return TaskNetwork(tasks, horizon, ONE_HAND, lags, (SHIFTS,))


@pytest.mark.exact
def test_a_task_that_pauses_goes_on_after_the_break() -> None:
    assert solve(shop(shop_task("a", 12))).span("a") == Span("a", 0, 17)


@pytest.mark.exact
def test_a_task_that_fills_its_window_ends_at_the_break() -> None:
    assert solve(shop(shop_task("a", 10))).span("a") == Span("a", 0, 10)


@pytest.mark.exact
def test_an_unbroken_task_waits_for_a_window_that_holds_it() -> None:
    network = shop(shop_task("a", 4), shop_task("b", 7, Pause.UNBROKEN), lags=(Lag("a", "b"),))
    assert solve(network).span("b") == Span("b", 15, 22)


@pytest.mark.exact
def test_a_wait_runs_through_the_night_and_needs_nobody() -> None:
    cure = Task("cure", 30)
    network = shop(
        shop_task("a", 14), cure, shop_task("b", 2), lags=(Lag("a", "cure"), Lag("cure", "b"))
    )
    schedule = solve(network)
    assert schedule.span("a") == Span("a", 0, 19)
    assert schedule.span("b") == Span("b", 60, 62)


@pytest.mark.exact
def test_work_that_must_follow_at_once_moves_the_step_before_it() -> None:
    """A bead of 4 and rivets of 7 without a pause do not fit before the break at 10."""
    lags = (Lag("bead", "rivets", most=0),)
    network = shop(
        shop_task("bead", 4, Pause.UNBROKEN), shop_task("rivets", 7, Pause.UNBROKEN), lags=lags
    )
    network = replace(network, calendars=(Calendar("shop", ((0, 10), (15, 40))),))
    schedule = solve(network)
    assert schedule.span("bead") == Span("bead", 15, 19)
    assert schedule.span("rivets") == Span("rivets", 19, 26)


@pytest.mark.exact
def test_a_prepared_surface_is_not_left_over_night() -> None:
    lags = (Lag("prepare", "bead", most=8),)
    first = shop_task("first", 17)
    network = shop(
        first,
        shop_task("prepare", 2, Pause.UNBROKEN),
        shop_task("bead", 4, Pause.UNBROKEN),
        lags=(*lags, Lag("first", "prepare")),
    )
    schedule = solve(network)
    assert schedule.span("prepare") == Span("prepare", 60, 62)
    assert broken_rules(network, schedule.spans) == []


@pytest.mark.exact
def test_two_lamps_are_never_more_than_two() -> None:
    lamps = tuple(Task(f"lamp {k}", 5, (Need("lamp"),)) for k in range(5))
    schedule = solve(TaskNetwork(lamps, 100, (Resource("lamp", 2),)))
    assert schedule.objective == 15


@pytest.mark.exact
def test_the_weighted_goal_puts_the_heavier_end_first() -> None:
    tasks = (Task("a", 5, HAND), Task("b", 5, HAND))
    goal = Goal((("b", 10), ("a", 1)), makespan=0)
    schedule = solve(TaskNetwork(tasks, 50, ONE_HAND, goal=goal))
    assert (schedule.span("b").end, schedule.objective) == (5, 60)


@pytest.mark.invariant
def test_the_same_question_has_the_same_schedule() -> None:
    network = random_network(5)
    assert solve(network) == solve(network)


def random_network(seed: int) -> TaskNetwork:
    """Ten tasks of all kinds, lags forward, some with a longest time."""
    draw = random.Random(seed)  # noqa: S311 - repeatable instances, no secrets
    tasks = []
    for number in range(10):
        kind = draw.choice([Pause.UNBROKEN, Pause.PAUSES, Pause.PAUSES, Pause.ANYTIME])
        length = draw.randint(1, 8)
        if kind is Pause.ANYTIME:
            tasks.append(Task(f"t{number}", length))
        else:
            needs = (Need("hand", draw.choice([1, 1, 2])),)
            tasks.append(Task(f"t{number}", length, needs, "shop", kind))
    lags = []
    for number in range(1, 10):
        before = draw.randrange(number)
        most = draw.choice([None, None, None, 40])
        lags.append(
            Lag(f"t{before}", f"t{number}", Between.END_START, draw.choice([0, 0, 3]), most)
        )
    windows, time = [], draw.randint(0, 4)
    while time < 300:
        windows.append((time, time + draw.randint(8, 14)))
        time = windows[-1][1] + draw.choice([2, 5, 16])
    calendar = Calendar("shop", tuple(w for w in windows if w[1] <= 300))
    return TaskNetwork(tuple(tasks), 300, (Resource("hand", 2),), tuple(lags), (calendar,))


def other_makespan(network: TaskNetwork) -> int:
    """The same network through PyJobShop; breaks are the calendar's gaps."""
    model = OtherModel()
    breaks, time = [], 0
    for start, end in network.calendars[0].windows:
        if start > time:
            breaks.append((time, start))
        time = end
    breaks.append((time, network.horizon))
    hand = model.add_renewable(2, breaks=breaks)
    tasks = {}
    for task in network.tasks:
        pauses = task.pause is Pause.PAUSES
        tasks[task.id] = model.add_task(latest_end=network.horizon, allow_breaks=pauses)
        needed = [hand] if task.needs else []
        amounts = [need.amount for need in task.needs]
        model.add_mode(tasks[task.id], needed, task.duration, demands=amounts)
    for lag in network.lags:
        model.add_end_before_start(tasks[lag.before], tasks[lag.after], delay=lag.least or 0)
        if lag.most is not None:
            model.add_start_before_end(tasks[lag.after], tasks[lag.before], delay=-lag.most)
    result = model.solve(display=False, num_workers=1, time_limit=60)
    return int(result.objective) if result.status.value == "Optimal" else -1


@pytest.mark.second_route
@pytest.mark.parametrize("seed", range(12))
def test_random_questions_have_the_makespan_that_another_library_finds(seed: int) -> None:
    network = random_network(seed)
    schedule = solve(network, Effort(20.0))
    other = other_makespan(network)
    if other < 0:
        assert schedule.status is Status.INFEASIBLE
    else:
        assert schedule.status is Status.OPTIMAL
        assert schedule.objective == other
        assert broken_rules(network, schedule.spans) == []


@pytest.mark.second_route
@pytest.mark.parametrize("seed", range(30))
def test_the_greedy_schedule_breaks_no_rule(seed: int) -> None:
    network = random_network(seed)
    spans = greedy(network)
    if spans is not None:
        assert broken_rules(network, spans) == []


@pytest.mark.invariant
def test_the_greedy_schedule_stands_where_the_search_finds_none() -> None:
    network = random_network(5)
    spans = greedy(network)
    assert spans is not None
    schedule = solve(network, Effort(deterministic_s=1e-9))
    assert schedule.status is Status.FALLBACK
    assert schedule.objective == objective(network.goal, spans)
    assert schedule.gap is not None
    assert 0.0 <= schedule.gap < 1.0


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(8))
def test_a_bound_is_never_above_the_optimum(seed: int) -> None:
    network = random_network(seed)
    best, hasty = solve(network), solve(network, Effort(deterministic_s=1e-9))
    if best.objective is not None and hasty.bound is not None:
        assert 0 < hasty.bound <= best.objective


@pytest.mark.exact
def test_a_circle_is_told_with_its_steps() -> None:
    tasks = (Task("a", 1), Task("b", 2), Task("c", 3))
    lags = (Lag("a", "b"), Lag("b", "c"), Lag("c", "a"))
    schedule = solve(TaskNetwork(tasks, 100, lags=lags))
    assert schedule.status is Status.INFEASIBLE
    assert "wait for each other" in schedule.why[0]
    assert all(name in schedule.why[0] for name in "abc")


@pytest.mark.exact
def test_a_step_longer_than_every_shift_is_told() -> None:
    schedule = solve(shop(shop_task("bead", 11, Pause.UNBROKEN)))
    assert "longest stretch of working time is 10 min" in schedule.why[0]


@pytest.mark.exact
def test_a_need_beyond_the_shop_is_told() -> None:
    tasks = (Task("hang", 5, (Need("hand", 2),)),)
    schedule = solve(TaskNetwork(tasks, 100, ONE_HAND))
    assert schedule.why == ("hang needs 2 × hand; the shop has 1.",)


@pytest.mark.exact
def test_rules_that_only_clash_together_are_told() -> None:
    """Two beads of 6 that must both end within 10 of the same start, with one hand."""
    tasks = (Task("start", 1), Task("left", 6, HAND), Task("right", 6, HAND))
    lags = (
        Lag("start", "left"),
        Lag("start", "right"),
        Lag("start", "left", Between.END_END, None, 10, "left side within 10 min"),
        Lag("start", "right", Between.END_END, None, 10, "right side within 10 min"),
        Lag("start", "left", Between.END_START, 0, 99, "a rule that does not matter"),
    )
    schedule = solve(TaskNetwork(tasks, 100, ONE_HAND, lags))
    assert schedule.status is Status.INFEASIBLE
    assert "left side within 10 min" in schedule.why[0]
    assert "right side within 10 min" in schedule.why[0]
    assert "the shop has 1 × hand" in schedule.why[0]
    assert "does not matter" not in schedule.why[0]


@pytest.mark.exact
def test_the_checker_sees_each_kind_of_breach() -> None:
    network = shop(
        shop_task("a", 4),
        shop_task("b", 4, Pause.UNBROKEN),
        lags=(Lag("a", "b", least=0, most=2),),
    )
    good = (Span("a", 0, 4), Span("b", 4, 8))
    assert broken_rules(network, good) == []
    assert broken_rules(network, (Span("a", 0, 4), Span("b", 3, 7)))
    assert broken_rules(network, (Span("a", 0, 4), Span("b", 15, 19)))
    assert broken_rules(network, (Span("a", 0, 3), Span("b", 4, 8)))
    assert broken_rules(network, (Span("a", 4, 8), Span("b", 8, 17)))
    assert broken_rules(network, (Span("a", 10, 14), Span("b", 15, 19)))
    assert broken_rules(network, (Span("a", 0, 4),))
