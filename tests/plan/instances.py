"""Read the public scheduling instances into the solver's own words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from panelwright.plan.tasks import Between, Lag, Need, Resource, Task, TaskNetwork

if TYPE_CHECKING:
    from pathlib import Path


def read_single_mode(path: Path) -> TaskNetwork:
    """A PSPLIB `.sm` file (Kolisch & Sprecher 1996)."""
    text = path.read_text(encoding="latin-1")
    sections = re.compile(r"^([A-Z/]+[A-Z ]*):\n(.*?)^\*{10}", re.DOTALL | re.MULTILINE)
    section = {
        name: [line.split() for line in body.strip().splitlines()]
        for name, body in sections.findall(text)
    }
    capacities = [int(word) for word in section["RESOURCEAVAILABILITIES"][1]]
    resources = tuple(Resource(f"R{k}", c) for k, c in enumerate(capacities, start=1))
    tasks = []
    for number, _mode, duration, *amounts in section["REQUESTS/DURATIONS"][2:]:
        needs = tuple(Need(f"R{k}", int(a)) for k, a in enumerate(amounts, 1) if int(a))
        tasks.append(Task(number, int(duration), needs))
    lags = tuple(
        Lag(row[0], after) for row in section["PRECEDENCE RELATIONS"][1:] for after in row[3:]
    )
    horizon = sum(task.duration for task in tasks)
    return TaskNetwork(tuple(tasks), horizon, resources, lags)


def read_with_lags(path: Path) -> TaskNetwork:
    """An RCPSP/max file of the generator of Schwindt (1998): start-to-start lags."""
    rows = [line.split() for line in path.read_text(encoding="latin-1").splitlines() if line]
    count = int(rows[0][0]) + 2
    arcs, works = rows[1 : count + 1], rows[count + 1 : 2 * count + 1]
    capacities = [int(word) for word in rows[2 * count + 1]]
    resources = tuple(Resource(f"R{k}", c) for k, c in enumerate(capacities))
    tasks = tuple(
        Task(
            row[0],
            int(row[2]),
            tuple(Need(f"R{k}", int(a)) for k, a in enumerate(row[3:]) if int(a)),
        )
        for row in works
    )
    lags = []
    for row in arcs:
        number = int(row[2])
        after, weights = row[3 : 3 + number], row[3 + number :]
        for other, weight in zip(after, weights, strict=True):
            lags.append(Lag(row[0], other, Between.START_START, int(weight.strip("[]"))))
    horizon = sum(
        max([task.duration, *(lag.least or 0 for lag in lags if lag.before == task.id)])
        for task in tasks
    )
    return TaskNetwork(tasks, horizon, resources, tuple(lags))
