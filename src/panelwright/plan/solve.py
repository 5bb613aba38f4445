"""Find the shortest schedule, and say how good it is known to be.

The model goes to OR-Tools' CP-SAT with one worker, a fixed seed and a deterministic limit, so
that the same question has the same answer on every machine. Our own greedy schedule stands beside
it: it is the first hint, and the answer where the solver finds nothing better in time.
"""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from panelwright.plan.answer import Status
from panelwright.plan.greedy import greedy, objective
from panelwright.plan.limits import earliest_starts
from panelwright.plan.model import Model
from panelwright.plan.reasons import plain_reasons, searched_reasons
from panelwright.plan.tasks import Span, TaskNetwork

FROM_BOUND_S = 4.0
"""Most that the search from the bound upwards may take [deterministic s]."""


@dataclass(frozen=True)
class Effort:
    """How hard to search; deterministic seconds, close to seconds on a usual machine."""

    deterministic_s: float = 5.0
    seed: int = 1


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
    outcome, found, bound = _search(network, own, effort)
    if outcome == cp_model.INFEASIBLE:
        return Schedule(Status.INFEASIBLE, (), None, None, searched_reasons(network, effort.seed))
    bound = max(bound, _own_bound(network))
    return _best(network, found, own, bound, proven=outcome == cp_model.OPTIMAL)


def _search(
    network: TaskNetwork, own: tuple[Span, ...] | None, effort: Effort
) -> tuple[cp_model.CpSolverStatus, tuple[Span, ...] | None, float]:
    """First from the bound upwards, then from our own schedule downwards.

    Measured on plans of 107 and 144 steps: trying the bound first, without presolve and hint,
    proves them in 0.5 and 1.3 s of one core. With presolve and a hint the search needs 1 to 20 s;
    tree search on the bound is faster on these and hangs on some instances with ten tasks.
    """
    bound = 0.0
    outcome = cp_model.UNKNOWN
    first = min(0.75 * effort.deterministic_s, FROM_BOUND_S)
    for from_bound in (True, False):
        model = Model(network)
        if own is not None and not from_bound:
            model.hint(own)
        solver = _solver(effort.seed, first if from_bound else effort.deterministic_s - first)
        solver.parameters.use_objective_lb_search = from_bound
        solver.parameters.cp_model_presolve = not from_bound
        outcome = solver.solve(model.model)
        bound = max(bound, solver.best_objective_bound)
        if outcome in {cp_model.OPTIMAL, cp_model.INFEASIBLE}:
            break
    found = outcome in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return outcome, model.spans(solver) if found else None, bound


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


def _solver(seed: int, limit_s: float) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = limit_s
    return solver


def _own_bound(network: TaskNetwork) -> float:
    """The goal's value with every task as early as the lags alone allow."""
    starts = earliest_starts(network)
    if starts is None:
        return 0.0
    ends = [Span(t.id, starts[t.id], starts[t.id] + t.duration) for t in network.tasks]
    return float(objective(network.goal, ends))
