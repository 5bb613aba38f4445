"""Find the shortest schedule, and say how good it is known to be.

The model goes to OR-Tools' CP-SAT with one worker, a fixed seed and a deterministic limit, so
that the same question has the same answer on every machine. Our own greedy schedule stands beside
it: it is the first hint, and the answer where the solver finds nothing better in time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from panelwright.plan.answer import Status
from panelwright.plan.greedy import greedy, objective
from panelwright.plan.limits import earliest_starts, possible_starts
from panelwright.plan.reasons import plain_reasons, searched_reasons
from panelwright.plan.tasks import Span, TaskNetwork

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.plan.hours import Piece


@dataclass(frozen=True)
class Effort:
    """How hard to search; deterministic seconds, close to seconds on a usual machine."""

    deterministic_s: float = 5.0
    seed: int = 1
    hint: bool = True


@dataclass(frozen=True)
class Schedule:
    """A schedule and what is known about it.

    Parameters
    ----------
    status : Status
    spans : tuple of Span
        One for each task; empty where there is no schedule.
    objective : int or None
        Value of the goal.
    bound : float or None
        No schedule has a smaller value.
    why : tuple of str
        Why there is none, in words.
    """

    status: Status
    spans: tuple[Span, ...]
    objective: int | None
    bound: float | None
    why: tuple[str, ...] = ()

    @property
    def gap(self) -> float | None:
        """How much too long the schedule may at most be, 0 to 1."""
        if self.objective is None or self.bound is None:
            return None
        if self.objective <= 0:
            return 0.0
        return max(0.0, (self.objective - self.bound) / self.objective)

    def span(self, task: str) -> Span:
        """When that task runs."""
        return next(span for span in self.spans if span.task == task)


def solve(network: TaskNetwork, effort: Effort | None = None) -> Schedule:
    """Shortest schedule of a network within its horizon.

    Parameters
    ----------
    network : TaskNetwork
        Times in whole units; ends lie between 0 and its horizon.
    effort : Effort, optional
        Deterministic limit [deterministic s], seed.

    Returns
    -------
    Schedule
        OPTIMAL with a gap of 0, FEASIBLE with the gap left, FALLBACK where only our own greedy
        schedule stands, or INFEASIBLE with the reasons in words. Where nothing was found and
        nothing was proven, INFEASIBLE says that the search ran out.

    References
    ----------
    Pritsker, A., Watters, L. & Wolfe, P. (1969): Multiproject scheduling with limited resources.
    Management Science 16(1), 93-108 (the problem). Bartusch, M., Möhring, R. & Radermacher, F.
    (1988): Scheduling project networks with resource constraints and time windows. Annals of
    Operations Research 16, 201-240 (with longest times).
    """
    effort = effort or Effort()
    why = plain_reasons(network)
    if why:
        return Schedule(Status.INFEASIBLE, (), None, None, why)
    own = greedy(network)
    model = _Model(network)
    if own is not None and effort.hint:
        model.hint(own)
    solver = _solver(effort)
    outcome = solver.solve(model.model)
    if outcome == cp_model.INFEASIBLE:
        return Schedule(Status.INFEASIBLE, (), None, None, searched_reasons(network, effort.seed))
    found = model.spans(solver) if outcome in {cp_model.OPTIMAL, cp_model.FEASIBLE} else None
    bound = max(solver.best_objective_bound, _own_bound(network))
    return _best(network, found, own, bound, proven=outcome == cp_model.OPTIMAL)


def _best(
    network: TaskNetwork,
    found: tuple[Span, ...] | None,
    own: tuple[Span, ...] | None,
    bound: float,
    *,
    proven: bool,
) -> Schedule:
    """The better of the solver's schedule and our own."""
    if found is None and own is None:
        why = ("No schedule was found in the time allowed, and none was ruled out.",)
        return Schedule(Status.INFEASIBLE, (), None, bound, why)
    if found is not None and (
        own is None or objective(network.goal, found) <= objective(network.goal, own)
    ):
        value = objective(network.goal, found)
        return Schedule(Status.OPTIMAL if proven else Status.FEASIBLE, found, value, bound)
    spans = own or ()
    return Schedule(Status.FALLBACK, spans, objective(network.goal, spans), bound)


def _solver(effort: Effort) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = effort.seed
    solver.parameters.max_deterministic_time = effort.deterministic_s
    return solver


def _own_bound(network: TaskNetwork) -> float:
    """The goal's value with every task as early as the lags alone allow."""
    starts = earliest_starts(network)
    if starts is None:
        return 0.0
    ends = [Span(t.id, starts[t.id], starts[t.id] + t.duration) for t in network.tasks]
    return float(objective(network.goal, ends))


class _Model:
    """The CP-SAT model of a network."""

    def __init__(self, network: TaskNetwork) -> None:
        self.network = network
        self.model = cp_model.CpModel()
        self.start: dict[str, cp_model.IntVar] = {}
        self.end: dict[str, cp_model.LinearExpr] = {}
        self.interval: dict[str, cp_model.IntervalVar] = {}
        for id_, ways in possible_starts(network).items():
            self._add_task(id_, ways.found)
        self._add_lags()
        self._add_resources()
        self._add_goal()

    def _add_task(self, id_: str, found: Sequence[Piece]) -> None:
        """A start within the calendar; its time on the clock follows from where it lies."""
        by_elapsed: dict[int, list[tuple[int, int]]] = {}
        for piece in found:
            by_elapsed.setdefault(piece.elapsed, []).append((piece.low, piece.high))
        domain = cp_model.Domain.from_intervals([[p.low, p.high] for p in found])
        start = self.model.new_int_var_from_domain(domain, f"start {id_}")
        size: cp_model.LinearExprT = next(iter(by_elapsed))
        if len(by_elapsed) > 1:
            size = self._size(id_, start, by_elapsed)
        end = start + size
        self.start[id_], self.end[id_] = start, end
        self.interval[id_] = self.model.new_interval_var(start, size, end, f"span {id_}") if (
            isinstance(size, int)
        ) else self._interval(id_, start, size)

    def _size(
        self,
        id_: str,
        start: cp_model.IntVar,
        by_elapsed: Mapping[int, Sequence[tuple[int, int]]],
    ) -> cp_model.IntVar:
        values = cp_model.Domain.from_values(list(by_elapsed))
        size = self.model.new_int_var_from_domain(values, f"size {id_}")
        ways = []
        for elapsed, ranges in by_elapsed.items():
            way = self.model.new_bool_var(f"{id_} takes {elapsed}")
            allowed = cp_model.Domain.from_intervals([list(pair) for pair in ranges])
            self.model.add_linear_expression_in_domain(start, allowed).only_enforce_if(way)
            self.model.add(size == elapsed).only_enforce_if(way)
            ways.append(way)
        self.model.add_exactly_one(ways)
        return size

    def _interval(
        self, id_: str, start: cp_model.IntVar, size: cp_model.LinearExprT
    ) -> cp_model.IntervalVar:
        end = self.model.new_int_var(0, self.network.horizon, f"end {id_}")
        self.end[id_] = end
        return self.model.new_interval_var(start, size, end, f"span {id_}")

    def _side(self, id_: str, which: str) -> cp_model.LinearExprT:
        return self.start[id_] if which == "start" else self.end[id_]

    def _add_lags(self) -> None:
        for lag in self.network.lags:
            first, second = lag.between.value
            distance = self._side(lag.after, second) - self._side(lag.before, first)
            if lag.least is not None:
                self.model.add(distance >= lag.least)
            if lag.most is not None:
                self.model.add(distance <= lag.most)

    def _add_resources(self) -> None:
        for resource in self.network.resources:
            held = [
                (self.interval[task.id], need.amount)
                for task in self.network.tasks
                for need in task.needs
                if need.resource == resource.id and need.amount > 0 and task.duration > 0
            ]
            if not held:
                continue
            intervals = [interval for interval, _ in held]
            if all(2 * amount > resource.capacity for _, amount in held):
                self.model.add_no_overlap(intervals)
            else:
                amounts = [amount for _, amount in held]
                self.model.add_cumulative(intervals, amounts, resource.capacity)

    def _add_goal(self) -> None:
        goal = self.network.goal
        terms: list[cp_model.LinearExprT] = [self.end[id_] * w for id_, w in goal.ends]
        if goal.makespan:
            last = self.model.new_int_var(0, self.network.horizon, "makespan")
            for end in self.end.values():
                self.model.add(last >= end)
            terms.append(last * goal.makespan)
        self.model.minimize(cp_model.LinearExpr.sum(terms))

    def hint(self, spans: Sequence[Span]) -> None:
        """Start the search from a schedule."""
        for span in spans:
            self.model.add_hint(self.start[span.task], span.start)

    def spans(self, solver: cp_model.CpSolver) -> tuple[Span, ...]:
        """The schedule that the solver found."""
        return tuple(
            Span(t.id, solver.value(self.start[t.id]), solver.value(self.end[t.id]))
            for t in self.network.tasks
        )
