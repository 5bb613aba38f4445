"""Readings of infrared thermometers: corrected for what they looked at, or given no weight."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.ensemble import middle
from panelwright.bond.infrared import View, corrected
from panelwright.bond.lamps import lamp_setup, spread
from panelwright.bond.readings import Reading

if TYPE_CHECKING:
    from collections.abc import Iterable

    from panelwright.bond.heat import HeatPlan
    from panelwright.facts.models.bonding import TemperatureReading

NO_WEIGHT_K = 1e6
"""Standard uncertainty of a reading that is shown and teaches nothing."""
FOR_INSTANCE_C = 60.0
WAY_OUT = (
    "Stick black tape on the flange, let it warm for a minute, read the tape with the lamp off or "
    "shaded; or use a contact thermometer."
)


def is_infrared(reading: TemperatureReading) -> bool:
    """Whether a reading was taken without touching.

    Parameters
    ----------
    reading : TemperatureReading

    Returns
    -------
    bool
    """
    said = (reading.with_ or "").lower().replace("-", "") == "infrared"
    return said or reading.emissivity is not None or reading.on is not None


def view_of(plan: HeatPlan, reading: Reading) -> View:
    """How the place of an infrared reading was looked at.

    Parameters
    ----------
    plan : HeatPlan
        With its lamps; what they shed on the place is taken as mirrored evenly.
    reading : Reading
        With `infrared`.

    Returns
    -------
    View
    """
    lamps = plan.lamps
    surface = reading.on or (lamps[0].surface if lamps else "unknown")
    received = 0.0
    for lamp in lamps:
        one = lamp_setup(lamp, middle())
        if one.on_at(reading.minute):
            there = one.absorbed(np.array([reading.along_mm]))[0, 0] / one.absorptivity[0]
            received += float(there)
    share = spread("infrared lamp share")
    return View(
        surface,
        reading.setting or spread("infrared setting"),
        plan.air_C,
        float(np.hypot(plan.air_u_K, spread("infrared walls"))),
        received * share,
        received * spread("infrared lamp share u"),
    )


def looked_at(plan: HeatPlan, readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Readings as the panel was: infrared ones corrected, those that say nothing without weight.

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    readings : iterable of Reading
        As they were shown.

    Returns
    -------
    tuple of Reading
        In the same order.
    """
    return tuple(_looked_at(plan, one) if one.infrared else one for one in readings)


def _looked_at(plan: HeatPlan, reading: Reading) -> Reading:
    view = view_of(plan, reading)
    own_K = reading.own_u_K if reading.own_u_K is not None else spread("infrared own")
    seen = corrected(reading.value_C, own_K, view)
    lit = " with the lamp on" if view.lamp > 0.0 else ""
    how = f"Infrared at {view.setting:g} on {view.words}{lit}"
    shown = f"{how}: {reading.value_C:.0f} °C shown"
    if seen.u_K <= spread("infrared most"):
        return replace(
            reading,
            value_C=seen.celsius,
            u_K=float(np.hypot(seen.u_K, spread("panel model"))),
            words=f"{shown} is {seen.celsius:.0f} ± {2.0 * seen.u_K:.0f} °C (95 %).",
        )
    return replace(
        reading,
        u_K=NO_WEIGHT_K,
        words=(
            f"{shown} says nothing: a panel of {FOR_INSTANCE_C:.0f} °C would show about "
            f"{view.shows(FOR_INSTANCE_C):.0f} °C, for {view.words} mirrors the bay. No weight is "
            f"given to it. {WAY_OUT}"
            if not view.lamp > 0.0
            else f"{shown} says nothing: {view.words} mirrors lamp and bay, and a panel of "
            f"{FOR_INSTANCE_C:.0f} °C would show about {view.shows(FOR_INSTANCE_C):.0f} °C, give "
            f"or take what the lamp adds. No weight is given to it. {WAY_OUT}"
        ),
    )
