"""What the plan answers: steps in time, the kit, and when paint gets it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from panelwright.facts.problem import Problem
from panelwright.sources import Share, Source


class Who(StrEnum):
    """Who or what a step keeps busy."""

    TECHNICIAN = "technician"
    LEAD = "lead"
    QUALIFIED = "qualified person"
    LAMP = "lamp"
    NOBODY = "nobody"


class Status(StrEnum):
    """How good the schedule is known to be."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    FALLBACK = "fallback"
    INFEASIBLE = "infeasible"


@dataclass(frozen=True)
class Caution:
    """A warning that stands beside the step it belongs to.

    Parameters
    ----------
    id : str
        Short name, such as ``high-voltage``.
    words : str
        The whole sentence.
    """

    id: str
    words: str


@dataclass(frozen=True)
class PlannedStep:
    """One step in time.

    Parameters
    ----------
    id : str
        Unique in the plan; with several repairs the repair's name stands before it.
    repair : str
        Name of the repair.
    stage : int
        1 to 12, as in the course of a repair.
    name : str
        What is done, in the trade's words.
    by : Who
        Who it keeps busy.
    people : int
        How many of them.
    person : str
        Which of them: "technician 2"; empty for a wait.
    start, end : datetime
        In the shop's time zone.
    work_minutes : int
        Working time, breaks left out.
    waits_for : tuple of str
        Ids of the steps that come before it.
    cautions : tuple of Caution
        What may hurt somebody in this step.
    hold : bool
        Hold point: nothing goes on until it is signed.
    proves : str
        The facts that prove the step; empty where none is asked.
    why : str
        How its length was found.
    concerns : tuple of str
        Ids of the parts and joints it works on.
    done : bool
        Recorded as done, or taken as done because a later fact is recorded. A hold point is never
        taken as done.
    sources : tuple of Source
    short : str
        Its name on the chart; steps of one kind share it.
    overtaken : bool
        A hold point that is not recorded although a later step is: it stands at the plan's
        beginning, to be signed or done before anything goes on.
    base : str
        Step of the library that it comes from; empty for a step of the repair's own.
    """

    id: str
    repair: str
    stage: int
    name: str
    by: Who
    people: int
    person: str
    start: datetime
    end: datetime
    work_minutes: int
    waits_for: tuple[str, ...]
    cautions: tuple[Caution, ...]
    hold: bool
    proves: str
    why: str
    concerns: tuple[str, ...]
    done: bool
    sources: tuple[Source, ...]
    short: str = ""
    overtaken: bool = False
    base: str = ""


@dataclass(frozen=True)
class KitLine:
    """One line of the parts list.

    Parameters
    ----------
    item : str
        What it is.
    need : float
        How much of `unit`.
    have : float or None
        On hand; None where nobody said.
    unit : str
        "pieces", "cartridges", "m", …
    for_ : tuple of str
        Parts, joints or steps it is for; with several repairs, the repairs' names before them.
    short : bool
        Missing, or useless on the day it is wanted.
    note : str
        Why that much; what is wrong with it.
    sources : tuple of Source
    """

    item: str
    need: float
    have: float | None
    unit: str
    for_: tuple[str, ...]
    short: bool
    note: str
    sources: tuple[Source, ...]


def amount_in_words(need: float, unit: str) -> str:
    """So much of a unit: "1 cartridge", "2 cartridges"."""
    one = need == 1 and unit.endswith("s")
    return f"{need:g} {unit[:-1] if one else unit}"


@dataclass(frozen=True)
class Ready:
    """When one repair goes to paint.

    Parameters
    ----------
    repair : str
    planned : datetime
        End of the hand-over in the schedule, every step taking its usual time.
    p50, p90 : datetime
        The times before which it is handed over in 50 and 90 of 100 cases.
    zone : str
        IANA name of this repair's own zone; the times above are in the plan's.
    shares : tuple of Share
        What its spread comes from, as shares of its variance; largest first.
    """

    repair: str
    planned: datetime
    p50: datetime
    p90: datetime
    zone: str = ""
    shares: tuple[Share, ...] = ()


@dataclass(frozen=True)
class Window:
    """A stretch of working time."""

    start: datetime
    end: datetime


@dataclass(frozen=True)
class PlanAnswer:
    """The plan of one or several repairs in one shop.

    Parameters
    ----------
    steps : tuple of PlannedStep
        In the order of their start.
    kit : tuple of KitLine
    ready_for_paint : tuple of Ready
        One for each repair; empty where the plan is infeasible.
    critical : tuple of str
        Ids of the steps that set the ready-for-paint time, in order.
    status : Status
    gap : float or None
        How much of the objective the schedule may at most be too long, 0 to 1.
    why : tuple of str
        Why it is infeasible, in words; empty otherwise.
    problems : tuple of Problem
    working : tuple of Window
        The shop's working hours over the plan, for the chart.
    zone : str
        IANA name of the shop's time zone.
    now : datetime
        When the plan starts.
    sources : tuple of Source
    """

    steps: tuple[PlannedStep, ...]
    kit: tuple[KitLine, ...]
    ready_for_paint: tuple[Ready, ...]
    critical: tuple[str, ...]
    status: Status
    gap: float | None
    why: tuple[str, ...]
    problems: tuple[Problem, ...]
    working: tuple[Window, ...]
    zone: str
    now: datetime
    sources: tuple[Source, ...]
