"""What to do, in plain words, instruction first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.bond import clocks
from panelwright.sources import largest

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from panelwright.bond.answer import BondAnswer, JointBond, Surface

SURE_OVER = 0.5
MAY_BE_OVER = 0.1
WIDE_BAND = 1.5

LAMP_CAUTIONS = (
    "Lamp: keep it off the battery, restraint parts, seals, wiring, foam and trim; shield or take "
    "them out first, and never leave a hot lamp alone.",
    "Lamp: let solvent from cleaning flash off before the lamp is switched on; the panel burns "
    "skin at 60 °C.",
    "Lamp: read the hottest spot with a contact thermometer; bare metal deceives an infra-red one.",
)
GOVERNED = (
    "Follow the maker's procedure, the adhesive's data sheet, local codes and licensed practice; "
    "no time here overrides them."
)


def spoken_minutes(minutes: float) -> str:
    """A time as people say it: minutes, or hours and minutes from two hours on."""
    if minutes < 119.5:
        return f"{minutes:.0f} min"
    hours, rest = divmod(round(minutes / 5.0) * 5, 60)
    return f"{hours} h" if rest == 0 else f"{hours} h {rest} min"


def _work(bond: JointBond, zone: ZoneInfo) -> list[str]:
    if bond.work_until_min is None or bond.clock.closed is not None:
        return []
    until = bond.clock.work_until
    moment = f" ({clocks.spoken(until, zone)})" if until else ""
    return [
        f"Joint {bond.joint}: close, rivet and tool within "
        f"{spoken_minutes(bond.work_until_min)} of the first bead{moment}."
    ]


def _hold(bond: JointBond, zone: ZoneInfo) -> list[str]:
    if bond.handle_min is None:
        return []
    band, moments = bond.handle_min, bond.clock.handle
    moment = f" ({clocks.spoken(moments.late, zone)})" if moments else ""
    return [
        f"Joint {bond.joint}: leave it clamped and unloaded until {spoken_minutes(band.late)} after "
        f"closing{moment}; likely it can be handled at {spoken_minutes(band.likely)}."
    ]


def _full(bond: JointBond, zone: ZoneInfo) -> list[str]:
    if bond.full_min is None:
        return []
    moments = bond.clock.full
    moment = f" ({clocks.spoken(moments.late, zone)})" if moments else ""
    return [
        f"Joint {bond.joint}: full strength by {spoken_minutes(bond.full_min.late)} after "
        f"closing{moment}."
    ]


def _heat(bond: JointBond) -> list[str]:
    if not bond.stays or bond.hottest_C is None or bond.limit_C is None:
        return []
    where = f"Joint {bond.joint}"
    found = [
        f"{where}: read the temperature at {bond.coldest_mm:.0f} mm, the coldest spot, and at the "
        f"spot nearest the lamp around minute {bond.hottest_at_min:.0f}."
    ]
    chance = bond.p_over_limit or 0.0
    if bond.over_limit:
        found.insert(
            0,
            f"{where}: move the lamp back or switch it off sooner; {bond.hottest_C:.0f} °C is "
            f"likely and the limit is {bond.limit_C:.0f} °C.",
        )
    elif chance > MAY_BE_OVER:
        found.insert(
            0,
            f"{where}: watch the hottest spot; with a chance of {100 * chance:.0f} % it passes "
            f"{bond.limit_C:.0f} °C ({bond.hottest_C:.0f} °C is likely).",
        )
    return found


def _narrow(bond: JointBond) -> list[str]:
    band = bond.handle_min or bond.full_min
    if band is None or band.late <= WIDE_BAND * band.early or bond.readings:
        return []
    top = largest(bond.shares, 1)
    why = f" Most of the spread comes from {top[0][0]}." if top else ""
    if not bond.stays:
        return [f"Joint {bond.joint}: the band is wide.{why}"]
    return [f"Joint {bond.joint}: one temperature reading under the lamp narrows the band.{why}"]


def advice_of(joints: tuple[JointBond, ...], surface: Surface, zone: ZoneInfo) -> tuple[str, ...]:
    """All sentences, those that protect somebody first within each joint."""
    found = [surface.words]
    for bond in joints:
        found += _work(bond, zone) + _hold(bond, zone) + _full(bond, zone)
        found += _heat(bond) + _narrow(bond)
    if any(bond.stays for bond in joints):
        found += LAMP_CAUTIONS
    return (*found, GOVERNED)


def notes_of(answer: BondAnswer) -> tuple[str, ...]:
    """Assumptions and warnings of all joints, each once."""
    return tuple(dict.fromkeys(note for bond in answer.joints for note in bond.notes))
