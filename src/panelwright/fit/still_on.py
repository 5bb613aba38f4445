"""Which parts that are to come off are still on, as far as the facts tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.fit.settings import ALWAYS, parts_read

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.settings import Settings

COMES_OFF = frozenset({"replace", "section", "remove-and-refit"})
"""States of parts that are taken off and fitted again or anew."""
_OFF_ONCE_DONE = ("lift-off", "take-off", "dry-fit", "measure-fit")


def parts_still_on(repair: Repair, settings: Settings) -> tuple[str, ...]:
    """Fitted parts that come off and have not yet.

    A part counts as off once a joint of it is separated, a step that lifts or fits it is done, it
    was moved, or something of it was read that is not of the old one.

    Parameters
    ----------
    repair : Repair
    settings : Settings

    Returns
    -------
    tuple of str
        In the order of the file.
    """
    done = {event.step for event in repair.events if event.kind == "done" and event.step}
    read = {
        part
        for reading in repair.readings
        if reading.when == "now"
        for part in parts_read(reading, repair)
        if settings.latest_of(part) != ALWAYS
    }
    return tuple(
        part.id
        for part in repair.parts
        if part.id in settings.fitted
        and part.state in COMES_OFF
        and part.id not in settings.moved
        and part.id not in read
        and not done & _steps_that_take_off(part.id, repair)
    )


def _steps_that_take_off(part: str, repair: Repair) -> set[str]:
    joints = [joint.id for joint in repair.joints if part in joint.layers]
    return {f"{how}-{part}" for how in _OFF_ONCE_DONE} | {f"separate-{joint}" for joint in joints}
