"""What to do, in plain words, instruction first."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.bond import clocks
from panelwright.bond.ensemble import SPOKEN, Input
from panelwright.quantities import show_minutes
from panelwright.sources import largest

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

    from panelwright.bond.answer import Band, BondAnswer, JointBond, Surface

SURE_OVER = 0.5
MAY_BE_OVER = 0.1
WIDE_BAND = 1.5
REMEDIES = {
    SPOKEN[Input.AIR]: "keep the air steady and read it",
    SPOKEN[Input.LAW_A]: "ask the adhesive's maker for times at more temperatures",
}

LAMP_CAUTIONS = (
    (
        "Lamp: keep it off the battery, restraint parts, seals, wiring, foam and trim; shield or "
        "take them out first, and never leave a hot lamp alone."
    ),
    (
        "Lamp: let solvent from cleaning flash off before the lamp is switched on; the panel burns "
        "skin at 60 °C."
    ),
    "Lamp: read the hottest spot with a contact thermometer; bare metal deceives an infra-red one.",
)
GOVERNED = (
    "Follow the maker's procedure, the adhesive's data sheet, local codes and licensed practice; "
    "no time here overrides them."
)


def _latest(band: Band) -> str:
    return show_minutes(math.ceil(band.late))


def _work(bond: JointBond, zone: ZoneInfo) -> list[str]:
    if bond.work_until_min is None or bond.clock.closed is not None:
        return []
    until = bond.clock.work_until
    moment = f" ({clocks.spoken(until, zone)})" if until else ""
    return [
        (
            f"close, rivet and tool within "
            f"{show_minutes(math.floor(bond.work_until_min))} of the first bead{moment}."
        )
    ]


def _hold(bond: JointBond, zone: ZoneInfo) -> list[str]:
    if bond.handle_min is None:
        return []
    band, moments = bond.handle_min, bond.clock.handle
    moment = f" ({clocks.spoken(moments.late, zone)})" if moments else ""
    return [
        (
            f"leave clamped and unloaded until {_latest(band)} after "
            f"closing{moment}; handling is likely at {show_minutes(band.likely)}."
        )
    ]


def _full(bond: JointBond, zone: ZoneInfo) -> list[str]:
    if bond.full_min is None:
        return []
    moments = bond.clock.full
    moment = f" ({clocks.spoken(moments.late, zone)})" if moments else ""
    return [(f"full strength by {_latest(bond.full_min)} after closing{moment}.")]


def _heat(bond: JointBond) -> list[str]:
    if not bond.stays or bond.hottest_C is None or bond.limit_C is None:
        return []
    found = [
        (
            f"read the temperature at {bond.coldest_mm:.0f} mm, the coldest spot, and at "
            f"the spot nearest the lamp around minute {bond.hottest_at_min:.0f}."
        )
    ]
    chance = bond.p_over_limit or 0.0
    if bond.over_limit:
        found.insert(
            0,
            f"move the lamp back or switch it off sooner; {bond.hottest_C:.0f} °C is "
            f"likely and the limit is {bond.limit_C:.0f} °C.",
        )
    elif chance > MAY_BE_OVER:
        found.insert(
            0,
            f"watch the hottest spot; with a chance of {100 * chance:.0f} % it passes "
            f"{bond.limit_C:.0f} °C ({bond.hottest_C:.0f} °C is likely).",
        )
    return found


def _narrow(bond: JointBond) -> list[str]:
    band = bond.handle_min or bond.full_min
    top = largest(bond.shares, 1)
    if band is None or not top or band.late <= WIDE_BAND * band.early:
        return []
    name = top[0][0]
    remedy = REMEDIES.get(name, "read the temperature of the joint")
    return [f"{remedy}; most of the wide band comes from {name}."]


def _listed(names: list[str]) -> str:
    if len(names) == 1:
        return f"Joint {names[0]}"
    return f"Joints {', '.join(names[:-1])} and {names[-1]}"


def grouped(pairs: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Sentences on joints, those that are alike said once for all of them.

    Parameters
    ----------
    pairs : iterable of (str, str)
        Joint and what is said of it.

    Returns
    -------
    tuple of str
        In order of first use.
    """
    said: dict[str, list[str]] = {}
    for joint, words in pairs:
        said.setdefault(words, []).append(joint)
    return tuple(f"{_listed(names)}: {words}" for words, names in said.items())


def advice_of(joints: tuple[JointBond, ...], surface: Surface, zone: ZoneInfo) -> tuple[str, ...]:
    """All sentences, those that protect somebody first within each joint.

    Parameters
    ----------
    joints : tuple of JointBond
        Every bonded joint.
    surface : Surface
        Verdict on air and panel.
    zone : ZoneInfo
        In which moments are said.

    Returns
    -------
    tuple of str
        Instructions, cautions last.
    """
    pairs = (
        (bond.joint, words)
        for bond in joints
        for words in (
            *_work(bond, zone),
            *_hold(bond, zone),
            *_full(bond, zone),
            *_heat(bond),
            *_narrow(bond),
        )
    )
    found = [surface.words, *grouped(pairs)]
    if any(bond.stays for bond in joints):
        found += LAMP_CAUTIONS
    return (*found, GOVERNED)


def notes_of(answer: BondAnswer) -> tuple[str, ...]:
    """Assumptions and warnings of all joints, each once.

    Parameters
    ----------
    answer : BondAnswer
        The room's answer.

    Returns
    -------
    tuple of str
        Sentences, in order of first use.
    """
    return tuple(dict.fromkeys(note for bond in answer.joints for note in bond.notes))
