"""What the solver is told: tasks, resources, time lags and working hours, in whole time units.

A time unit is one minute in the shop's plans and one period in the published instances.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum


class Pause(Enum):
    """How a task stands to the breaks of its calendar."""

    UNBROKEN = "must lie within one working window"
    PAUSES = "rests in breaks and goes on after them"
    ANYTIME = "runs on, day and night"


class Between(Enum):
    """Which ends of two tasks a lag ties."""

    START_START = ("start", "start")
    START_END = ("start", "end")
    END_START = ("end", "start")
    END_END = ("end", "end")


@dataclass(frozen=True)
class Need:
    """How much of a resource a task holds from its start to its end."""

    resource: str
    amount: int = 1


@dataclass(frozen=True)
class Resource:
    """Something of which only so much can be used at once."""

    id: str
    capacity: int
    name: str = ""

    @property
    def words(self) -> str:
        """What people call it."""
        return self.name or self.id


@dataclass(frozen=True)
class Calendar:
    """Working windows [start, end), in order, apart from each other."""

    id: str
    windows: tuple[tuple[int, int], ...]

    def longest(self) -> int:
        """Length of the longest window."""
        return max((end - start for start, end in self.windows), default=0)


@dataclass(frozen=True)
class Task:
    """One task.

    Parameters
    ----------
    id : str
    duration : int
        Working time; the time on the clock is longer where the task rests in breaks.
    needs : tuple of Need
    calendar : str or None
        None: it may run at any time.
    pause : Pause
    earliest : int
        It does not start before.
    latest : int or None
        It ends by then.
    name : str
    """

    id: str
    duration: int
    needs: tuple[Need, ...] = ()
    calendar: str | None = None
    pause: Pause = Pause.ANYTIME
    earliest: int = 0
    latest: int | None = None
    name: str = ""

    @property
    def words(self) -> str:
        """What people call it."""
        return self.name or self.id


@dataclass(frozen=True)
class Lag:
    """The time from an end of one task to an end of another: at least, at most."""

    before: str
    after: str
    between: Between = Between.END_START
    least: int | None = 0
    most: int | None = None
    name: str = ""

    @property
    def words(self) -> str:
        """The rule as people say it."""
        if self.name:
            return self.name
        first, second = self.between.value
        limits = [f"at least {self.least}"] if self.least is not None else []
        limits += [f"at most {self.most}"] if self.most is not None else []
        return f"{second} of {self.after} {' and '.join(limits)} after {first} of {self.before}"


@dataclass(frozen=True)
class Goal:
    """What is to be small: the weighted sum of ends, plus the weighted end of the last task."""

    ends: tuple[tuple[str, int], ...] = ()
    makespan: int = 1


@dataclass(frozen=True)
class TaskNetwork:
    """A whole scheduling question; `horizon` bounds every end."""

    tasks: tuple[Task, ...]
    horizon: int
    resources: tuple[Resource, ...] = ()
    lags: tuple[Lag, ...] = ()
    calendars: tuple[Calendar, ...] = ()
    goal: Goal = field(default_factory=Goal)

    def task(self, id_: str) -> Task:
        """The task of that id."""
        return next(task for task in self.tasks if task.id == id_)


@dataclass(frozen=True)
class Span:
    """When a task runs on the clock."""

    task: str
    start: int
    end: int
