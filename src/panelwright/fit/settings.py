"""In which setting of a part a reading counts.

Body points are the same all along. A part that is off and on again has each setting apart: BEFORE
(the old part, before it came off), then 1, 2, … at every new dry fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.models.readings import (
    CompareReading,
    ContactReading,
    HeightReading,
    LocatorReading,
    PlaceReading,
    SpanReading,
    StationReading,
)
from panelwright.facts.repair import BODY

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair

BEFORE = 0
SISTER = -2
"""Setting of everything that was read on a sister vehicle."""
ALWAYS = -1
"""Setting of what stays where it is: the body, and parts that are kept and not fitted."""
_STAYING = frozenset({"keep", "inspect"})


@dataclass(frozen=True)
class Settings:
    """Which parts are fitted, and the settings they have.

    Parameters
    ----------
    fitted : frozenset of str
        Parts whose place is asked for: with a point that has a home, or read at a station,
        contact or locator.
    staying : frozenset of str
        Parts that are neither fitted nor taken off; the body too.
    moved : mapping
        New dry fits of each part: (setting, when it was made).
    latest : mapping
        Latest setting of each part; 1 where a part is not in it.
    """

    fitted: frozenset[str]
    staying: frozenset[str]
    moved: Mapping[str, tuple[tuple[int, datetime | None], ...]]
    latest: Mapping[str, int]

    def latest_of(self, part: str) -> int:
        """The setting in which a part is reported."""
        return ALWAYS if part in self.staying else self.latest.get(part, 1)

    def of(self, reading: Reading, part: str) -> int:
        """The setting of `part` in which a reading counts."""
        if reading.when == "sister":
            return SISTER
        if part in self.staying:
            return ALWAYS
        if reading.when == "before":
            return BEFORE
        return min(self._asked(reading, part), self.latest.get(part, 1))

    def _asked(self, reading: Reading, part: str) -> int:
        if reading.setting is not None:
            return reading.setting
        if reading.at is None:
            return 1
        begun = [
            setting
            for setting, at in self.moved.get(part, ())
            if at is not None and at <= reading.at
        ]
        return max(begun, default=1)

    def is_unclear(self, reading: Reading, part: str) -> bool:
        """Whether a reading could belong to more than one setting and does not say which."""
        several = part not in self.staying and self.latest.get(part, 1) > 1
        says = reading.setting is not None or reading.at is not None or reading.when != "now"
        return several and not says


def parts_read(reading: Reading, repair: Repair) -> tuple[str, ...]:
    """The parts (and the body) that a reading touches, in its own order.

    Parameters
    ----------
    reading : Reading
    repair : Repair

    Returns
    -------
    tuple of str
        Each once; names that the repair does not have are left out.
    """
    match reading:
        case SpanReading():
            names = [reading.from_, reading.to]
        case CompareReading():
            names = [name for pair in reading.compare for name in pair]
        case HeightReading() | PlaceReading():
            names = [reading.point]
        case StationReading() | ContactReading() | LocatorReading():
            return tuple(part for part in _sides(reading, repair) if part)
    points = repair.point_by_id
    return tuple(dict.fromkeys(points[name].on for name in names if name in points))


def _sides(
    reading: StationReading | ContactReading | LocatorReading, repair: Repair
) -> tuple[str, str]:
    match reading:
        case StationReading():
            found = [(s.part, s.beside) for s in repair.stations if s.id == reading.station]
        case ContactReading():
            found = [(c.part, c.against) for c in repair.contacts if c.id == reading.contact]
        case LocatorReading():
            found = [(p.part, p.against) for p in repair.locators if p.id == reading.locator]
    return found[0] if found else ("", "")


def settings_of(repair: Repair) -> Settings:
    """Which parts of a repair are fitted, and in which settings they are.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    Settings
    """
    parts = {part.id: part.state for part in repair.parts}
    homed = {point.on for point in repair.points if point.home is not None}
    seated = {
        _sides(reading, repair)[0]
        for reading in repair.readings
        if isinstance(reading, StationReading | ContactReading | LocatorReading)
        and reading.when == "now"
    }
    fitted = frozenset((homed | seated) & parts.keys())
    moved: dict[str, tuple[tuple[int, datetime | None], ...]] = {}
    for event in repair.events:
        if event.kind == "moved" and event.part is not None and event.setting is not None:
            moved[event.part] = (*moved.get(event.part, ()), (event.setting, event.at))
    staying = {id_ for id_, state in parts.items() if state in _STAYING and id_ not in moved}
    staying = (staying - fitted) | {BODY}
    return Settings(fitted, frozenset(staying), moved, _latest(repair, moved, staying))


def _latest(
    repair: Repair,
    moved: Mapping[str, tuple[tuple[int, datetime | None], ...]],
    staying: set[str],
) -> dict[str, int]:
    """Latest setting of each part: of its own new fits, else of readings that touch it alone."""
    latest = {part: max(setting for setting, _ in fits) for part, fits in moved.items()}
    for reading in repair.readings:
        if reading.setting is None:
            continue
        touched = [part for part in parts_read(reading, repair) if part not in staying]
        if len(touched) == 1 and touched[0] not in moved:
            latest[touched[0]] = max(latest.get(touched[0], 1), reading.setting)
    return latest
