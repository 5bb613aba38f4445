"""The step library: what a repair's steps are called, how long they take, what may hurt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum
from functools import cache
from typing import TYPE_CHECKING

from panelwright.plan.answer import Caution, Who
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.sources import Source
    from panelwright.tables.load import Cell


class Breaks(Enum):
    """How a step stands to the shop's breaks."""

    PAUSES = "pauses"
    UNBROKEN = "unbroken"
    ATTENDED = "attended"
    ANYTIME = "anytime"


class Scope(StrEnum):
    """For what a step is repeated."""

    REPAIR = "repair"
    BOLTS = "bolts"
    OPENS = "opens"
    REFITS_OFF = "refits-off"
    PARTS_OFF = "parts-off"
    LOOKS = "looks"
    ARRIVALS = "arrivals"
    REMADE = "remade"
    PANELS_ON = "panels-on"
    BONDED_ON = "bonded-on"
    OTHER_JOINTS = "other-joints"
    HEATED = "heated"
    BONDED = "bonded"
    PADDED = "padded"
    REFITS = "refits"
    SENSORS = "sensors"
    ASKED = "asked"
    UNDER = "under"


@dataclass(frozen=True)
class LibraryStep:
    """One row of the step library.

    Parameters
    ----------
    short : str
        Its name on the chart.
    scope : Scope
        Repeated for each of these.
    applies : str
        A condition of the repair; "always".
    fixed_min : float
        Minutes that it always takes.
    rates : tuple of (str, float)
        What is counted, and the minutes for each.
    spread : float
        Standard deviation of the logarithm of its time.
    after : tuple of str
        Library steps that come first.
    """

    id: str
    stage: int
    name: str
    short: str
    who: Who
    people: int
    scope: Scope
    applies: str
    fixed_min: float
    rates: tuple[tuple[str, float], ...]
    spread: float
    breaks: Breaks
    after: tuple[str, ...]
    cautions: tuple[str, ...]
    hold: bool
    proves: str
    source: Source


def _words(cell: Cell) -> str:
    return "" if cell is None else str(cell)


def _number(cell: Cell) -> float:
    return cell if isinstance(cell, float) else 0.0


def _step(row: dict[str, Cell], source: Source) -> LibraryStep:
    pairs = ((row["per"], row["each"]), (row["per2"], row["each2"]))
    return LibraryStep(
        id=_words(row["id"]),
        stage=int(_number(row["stage"])),
        name=_words(row["name"]),
        short=_words(row["short"]),
        who=Who(_words(row["who"])),
        people=int(_number(row["people"])),
        scope=Scope(_words(row["scope"])),
        applies=_words(row["applies"]),
        fixed_min=_number(row["fixed"]),
        rates=tuple((_words(per), _number(each)) for per, each in pairs if per),
        spread=_number(row["spread"]),
        breaks=Breaks(_words(row["breaks"])),
        after=tuple(_words(row["after"]).split()),
        cautions=tuple(_words(row["cautions"]).split()),
        hold=row["hold"] == "yes",
        proves=_words(row["proves"]),
        source=source,
    )


@cache
def library() -> tuple[LibraryStep, ...]:
    """All steps, in the order of a repair."""
    table = load("repair_steps")
    return tuple(_step(row, table.source) for row in table.records())


@cache
def cautions() -> dict[str, Caution]:
    """Cautions by their short names."""
    rows = load("step_cautions").records()
    return {str(row["id"]): Caution(str(row["id"]), str(row["words"])) for row in rows}


@cache
def caution_conditions() -> dict[str, str]:
    """For which repairs each caution stands, by its short name."""
    rows = load("step_cautions").records()
    return {str(row["id"]): str(row["applies"]) for row in rows}


def caution(text: str) -> Caution:
    """The caution of that short name, or the text itself as one."""
    return cautions().get(text) or Caution("own", text)


@cache
def settings() -> dict[str, float]:
    """Settings of plan and parts list by name; units stand in their table."""
    return {str(row["id"]): _number(row["value"]) for row in load("plan_settings").records()}


def settings_source() -> Source:
    """On whose word the settings stand."""
    return load("plan_settings").source
