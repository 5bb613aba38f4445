"""A heating as a repair file, and what the package answers to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import tomli_w

from panelwright.bond import answer, clocks
from panelwright.bond.cure import ages_of, law_members, spot_times
from panelwright.bond.ensemble import weighted_quantiles
from panelwright.bond.entries import adhesive_of, heatings_of, readings_of
from panelwright.bond.heat import heat_plan, panel_setup
from panelwright.bond.history import temperature_history
from panelwright.bond.readings import learn
from panelwright.bond.rows import Milestone
from panelwright.bond.sheet import read_sheet
from panelwright.bond.thermometer import looked_at
from panelwright.errors import Unanswerable
from panelwright.facts.file import read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bench.heat_study.truth import Read
    from bench.heat_study.world import Told
    from numpy.typing import NDArray

    from panelwright.facts.repair import Repair

CLOSED = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
LEVELS = (0.025, 0.1, 0.5, 0.9, 0.975)
SAID = {
    "one reading disagrees with the rest": "disagrees with the rest",
    "readings lie far from lamp and surface": "lie far from what",
    "a slip is named as likelier": "likelier than the figures entered",
    "no usual slip explains them": "No usual slip",
}


@dataclass(frozen=True)
class Asked:
    """What the package said.

    Parameters
    ----------
    bands : dict
        For each question the quantiles `LEVELS` of its members.
    published_off : float
        Largest difference of the published 10, 50 and 90 % from the members' [min].
    said : tuple of str
        Keys of `SAID` that stand in its notes.
    """

    bands: dict[str, tuple[float, ...]]
    published_off: float
    said: tuple[str, ...]


def file_of(told: Told, readings: Sequence[Read]) -> str:
    """The repair file that a technician would have written."""
    return tomli_w.dumps(
        {
            "format": 1,
            "repair": {"name": "simulated"},
            "conditions": {"air": f"{told.air_C} °C", "humidity": 45},
            "part": [
                {"id": "skin", "material": "aluminium", "thickness": f"{told.metal.skin} mm"},
                {"id": "inner", "material": "aluminium", "thickness": f"{told.metal.inner} mm"},
            ],
            "joint": [_joint(told)],
            "adhesive": [_adhesive(told)],
            "lamp": [_lamp(told)],
            "heating": _heatings(told),
            "event": _events(told),
            "temperature": [
                {
                    "joint": "seam",
                    "along": f"{one.along_mm} mm",
                    "minute": one.minute,
                    "value": f"{one.celsius} °C",
                    "with": "contact",
                }
                for one in readings
            ],
        }
    )


def _joint(told: Told) -> dict[str, Any]:
    return {
        "id": "seam",
        "layers": ["skin", "inner"],
        "length": f"{told.metal.length} mm",
        "flange": f"{told.metal.overlap} mm",
        "kind": "bond",
        "remake": {"adhesive": "glue", "bond_line": f"{told.metal.film} mm"},
    }


def _adhesive(told: Told) -> dict[str, Any]:
    rows = [{"event": e, "at": f"{c} °C", "time": f"{m!r} min"} for e, c, m in told.sheet.rows]
    return {"id": "glue", "limit": "80 °C", "time": rows}


def _lamp(told: Told) -> dict[str, Any]:
    lamp: dict[str, Any] = {"id": "lamp"}
    if told.power_W is not None:
        lamp["power"] = f"{told.power_W:g} W"
        lamp["size"] = [f"{side} mm" for side in told.lamp.size_mm]
    if told.radiant is not None:
        lamp["radiant"] = told.radiant
    return lamp


def _heatings(told: Told) -> list[dict[str, Any]]:
    painted = told.surface == "black"
    surface = {"surface": "painted", "absorptivity": 0.9} if painted else {"surface": told.surface}
    return [
        {
            "joint": "seam",
            "lamp": "lamp",
            "distance": f"{told.lamp.distance_mm} mm",
            "centre": [f"{one.along_mm} mm", "0 mm"],
            "stays": [
                {
                    "from": f"{one.from_min - told.late_min} min",
                    "to": f"{one.to_min - told.late_min} min",
                }
            ],
            **surface,
        }
        for one in told.lamp.standings
    ]


def _events(told: Told) -> list[dict[str, Any]]:
    first, last = told.lamp.standings[0], told.lamp.standings[-1]
    moments: tuple[tuple[str, float, dict[str, str]], ...] = (
        ("bead-begun", -10.0, {}),
        ("closed", 0.0, {}),
        ("lamp-on", first.from_min, {"lamp": "lamp"}),
        ("lamp-off", last.to_min, {"lamp": "lamp"}),
    )
    return [
        {"joint": "seam", "kind": kind, "at": CLOSED + timedelta(minutes=minute), **more}
        for kind, minute, more in moments
    ]


def ask(told: Told, readings: Sequence[Read], after_min: float) -> Asked | None:
    """Ask the package; None where it refuses the data sheet.

    Parameters
    ----------
    told : Told
    readings : sequence of Read
    after_min : float
        Minute at which the coldest place is asked.

    Returns
    -------
    Asked or None
    """
    repair = read(file_of(told, readings))
    try:
        (bond,) = answer(repair).joints
    except Unanswerable:
        return None
    if bond.law is None or bond.handle_min is None:
        return None
    bands = _members(repair, after_min)
    off = 0.0
    for name, band in (("time to handle", bond.handle_min), ("time to full", bond.full_min)):
        if band is not None:
            mine = bands[name][1:4]
            pairs = zip(mine, (band.early, band.likely, band.late), strict=True)
            off = max(off, *(abs(a - b) for a, b in pairs))
    said = tuple(key for key, words in SAID.items() if any(words in note for note in bond.notes))
    return Asked(bands, off, said)


def _members(repair: Repair, after_min: float) -> dict[str, tuple[float, ...]]:
    """Quantiles of the same members that the published bands are of."""
    (joint,) = repair.joints
    adhesive, words = adhesive_of(repair, joint)
    if adhesive is None:
        raise AssertionError(words)
    law = read_sheet(adhesive).law
    heated, _ = heatings_of(repair, joint, clocks.recorded(repair.events, joint.id))
    readings, _ = readings_of(repair, joint)
    places = tuple(sorted({one.along_mm for one in readings}))
    plan = heat_plan(repair, joint, adhesive, heated, places)
    ensemble = learn(plan, looked_at(plan, readings)).ensemble
    setup = panel_setup(plan, ensemble)
    history = temperature_history(setup)
    members = law_members(law, ensemble)
    ages = ages_of(members, history, air_C=setup.air_C, start_C=setup.start_C)
    values: dict[str, NDArray[np.float64]] = {}
    for name, event in (("time to handle", Milestone.HANDLE), ("time to full", Milestone.FULL)):
        wanted = members.wanted(event)
        if wanted is not None:
            values[name] = spot_times(ages, wanted).max(axis=1)
    coldest = history.celsius.min(axis=1)
    at = [float(np.interp(after_min, history.minutes, one)) for one in coldest]
    values["coldest at 30 min"] = np.array(at)
    values["hottest"] = history.celsius.max(axis=(1, 2))
    return {
        name: tuple(float(q) for q in weighted_quantiles(each, ensemble.weights, LEVELS))
        for name, each in values.items()
    }
