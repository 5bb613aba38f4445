"""When a reading is taken: before cutting, or in which dry fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.fit.settings import (
    ALWAYS,
    BEFORE,
    SISTER,
    Settings,
    parts_read,
    settings_of,
)

if TYPE_CHECKING:
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.web.fit_targets import Target

from panelwright.web.fit_targets import POINTS, parts_of

BEFORE_KEY = "before"
SISTER_KEY = "sister"
STARTS_FIT = ("dry-fit", "measure-fit")
"""How the ids of steps begin that are done only once the old part is off."""


@dataclass(frozen=True)
class Stage:
    """Before cutting (number 0), a dry fit, or on a sister vehicle (`SISTER`)."""

    number: int

    @property
    def key(self) -> str:
        """Give it as a word for addresses and forms."""
        if self.number == SISTER:
            return SISTER_KEY
        return str(self.number) if self.number else BEFORE_KEY

    @property
    def words(self) -> str:
        """Give its name."""
        if self.number == SISTER:
            return "Sister vehicle"
        return f"Dry fit {self.number}" if self.number else "Before cutting"

    @property
    def is_fit(self) -> bool:
        """Tell whether a part hangs: a dry fit."""
        return self.number > 0


@dataclass(frozen=True)
class Stages:
    """The stages of a repair so far, and the one that it is in.

    Attributes
    ----------
    all : tuple of Stage
        Before cutting, then the dry fits.
    now : Stage
    fitted : tuple of str
        Parts that are dry-fitted, in the order of the repair.
    settings : Settings
        Of the fit.
    sister : bool
        Whether a sister vehicle is asked for: a target position is taken from it, or it was read.
    """

    all: tuple[Stage, ...]
    now: Stage
    fitted: tuple[str, ...]
    settings: Settings
    sister: bool = False

    def of(self, key: str) -> Stage | None:
        """Give the stage of a word; None where there is none."""
        return next((one for one in (*self.all, ON_SISTER) if one.key == key), None)

    def for_read(self, is_of_points: bool) -> tuple[Stage, ...]:
        """Give the stages in which something can be read; of a sister vehicle only points are."""
        return (*self.all, ON_SISTER) if self.sister and is_of_points else self.all

    def latest_of(self, part: str) -> int:
        """Give the dry fit that a part is in."""
        return self.settings.latest.get(part, 1)

    def said(self, stage: Stage, target: Target, repair: Repair) -> dict[str, object]:
        """Give what a reading's table says about when: nothing where only the body is read."""
        if not stage.number:
            return {"when": "before"}
        if stage == ON_SISTER and target.kind in POINTS:
            return {"when": "sister"}
        own = [p for p in parts_of(target, repair) if self.settings.latest_of(p) != ALWAYS]
        if not own:
            return {}
        latest = max(self.latest_of(part) for part in own)
        return {"setting": min(stage.number, latest) if stage.is_fit else latest}

    def number_of(self, reading: Reading, repair: Repair) -> int:
        """Give in which stage a reading counts; `ALWAYS` where it reads only the body."""
        if reading.when != "now":
            return BEFORE if reading.when == "before" else SISTER
        return max(
            (self.settings.of(reading, part) for part in parts_read(reading, repair)),
            default=ALWAYS,
        )


ON_SISTER = Stage(SISTER)
"""Of what is read on another sound vehicle of the same build."""


def stages_of(repair: Repair) -> Stages:
    """Give the stages of a repair."""
    settings = settings_of(repair)
    places = {station.part for station in repair.stations}
    places |= {contact.part for contact in repair.contacts}
    places |= {locator.part for locator in repair.locators}
    named = settings.fitted | places | settings.moved.keys()
    fitted = tuple(part.id for part in repair.parts if part.id in named)
    last = max((settings.latest.get(part, 1) for part in fitted), default=1)
    every = tuple(Stage(number) for number in range(last + 1))
    now = every[-1] if _is_off(repair, settings) else every[0]
    sister = any("sister" in point.homes for point in repair.points)
    sister = sister or any(reading.when == "sister" for reading in repair.readings)
    return Stages(every, now, fitted, settings, sister)


def _is_off(repair: Repair, settings: Settings) -> bool:
    """Tell whether the old part is off, as far as the facts tell: something was fitted."""
    if settings.moved:
        return True
    for event in repair.events:
        if event.kind == "done" and event.step and event.step.startswith(STARTS_FIT):
            return True
    return any(
        reading.when == "now"
        and any(settings.latest_of(part) != ALWAYS for part in parts_read(reading, repair))
        for reading in repair.readings
    )
