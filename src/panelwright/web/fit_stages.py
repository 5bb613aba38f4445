"""When a reading is taken: before cutting, or in which dry fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.fit.settings import ALWAYS, BEFORE, Settings, parts_read, settings_of

if TYPE_CHECKING:
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.web.fit_targets import Target

from panelwright.web.fit_targets import parts_of

BEFORE_KEY = "before"
STARTS_FIT = ("dry-fit", "measure-fit")
"""How the ids of steps begin that are done only once the old part is off."""


@dataclass(frozen=True)
class Stage:
    """Before cutting (number 0) or a dry fit."""

    number: int

    @property
    def key(self) -> str:
        """Give it as a word for addresses and forms."""
        return str(self.number) if self.number else BEFORE_KEY

    @property
    def words(self) -> str:
        """Give its name."""
        return f"Dry fit {self.number}" if self.number else "Before cutting"


@dataclass(frozen=True)
class Stages:
    """The stages of a repair so far, and the one that it is in.

    Attributes
    ----------
    all : tuple of Stage
    now : Stage
    fitted : tuple of str
        Parts that are dry-fitted, in the order of the repair.
    settings : Settings
        Of the fit.
    """

    all: tuple[Stage, ...]
    now: Stage
    fitted: tuple[str, ...]
    settings: Settings

    def of(self, key: str) -> Stage | None:
        """Give the stage of a word; None where there is none."""
        return next((stage for stage in self.all if stage.key == key), None)

    def latest_of(self, part: str) -> int:
        """Give the dry fit that a part is in."""
        return self.settings.latest.get(part, 1)

    def said(self, stage: Stage, target: Target, repair: Repair) -> dict[str, object]:
        """Give what a reading's table says about when: nothing where only the body is read."""
        if not stage.number:
            return {"when": "before"}
        own = [p for p in parts_of(target, repair) if self.settings.latest_of(p) != ALWAYS]
        if not own:
            return {}
        return {"setting": min(stage.number, max(self.latest_of(part) for part in own))}

    def number_of(self, reading: Reading, repair: Repair) -> int:
        """Give in which stage a reading counts; `ALWAYS` where it reads only the body."""
        if reading.when == "before":
            return BEFORE
        return max(
            (self.settings.of(reading, part) for part in parts_read(reading, repair)),
            default=ALWAYS,
        )


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
    return Stages(every, now, fitted, settings)


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
