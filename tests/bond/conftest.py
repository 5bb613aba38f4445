"""Repairs for the bond room's tests, made from a small file of one heated joint."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
import tomli_w

from panelwright.facts.file import read
from panelwright.facts.repair import Repair

BASE: dict[str, Any] = {
    "format": 1,
    "repair": {"name": "bond-test"},
    "conditions": {"air": "20 °C", "humidity": 50},
    "shop": {"zone": "Europe/Berlin"},
    "part": [
        {"id": "outer", "material": "EN AW-6016", "thickness": "1.0 mm", "state": "replace"},
        {"id": "inner", "material": "EN AW-6016", "thickness": "1.0 mm"},
    ],
    "joint": [{"id": "arch", "layers": ["outer", "inner"], "length": "600 mm"}],
    "adhesive": [
        {
            "id": "glue",
            "thickness": "0.25 mm",
            "limit": "80 °C",
            "lap_shear": "20 MPa",
            "time": [
                {"event": "work", "at": "23 °C", "time": "60 min"},
                {"event": "work", "at": "35 °C", "time": "25 min"},
                {"event": "handle", "at": "23 °C", "time": "240 min", "strength": "1 MPa"},
                {"event": "handle", "at": "60 °C", "time": "18 min"},
                {"event": "full", "at": "23 °C", "time": "24 h"},
                {"event": "full", "at": "60 °C", "time": "105 min"},
            ],
        }
    ],
}
HEATED: dict[str, Any] = {
    "lamp": [{"id": "lamp 1", "power": "1500 W", "radiant": 0.6, "size": ["300 mm", "100 mm"]}],
    "heating": [
        {
            "joint": "arch",
            "lamp": "lamp 1",
            "distance": "450 mm",
            "centre": ["300 mm", "0 mm"],
            "stays": [{"from": "0 min", "to": "40 min"}],
            "surface": "primed",
        }
    ],
}

Change = Callable[[dict[str, Any]], object]
Make = Callable[..., Repair]


@pytest.fixture(scope="session")
def make() -> Make:
    """A repair of one bonded joint, in air or heated, after any changes to its file."""

    def made(*changes: Change, heated: bool = False) -> Repair:
        data = copy.deepcopy(BASE)
        if heated:
            data |= copy.deepcopy(HEATED)
        for change in changes:
            change(data)
        return read(tomli_w.dumps(data))

    return made
