"""Small repairs that the plan's tests share."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.small import TIMES_AT_23

from panelwright.facts.file import read
from panelwright.facts.repair import Repair

PANEL = (
    """
format = 1
[repair]
name = "wren-7"
opened = 2026-11-20T07:30:00+01:00
[vehicle]
drive = "combustion"
[conditions]
air = "21 °C"
humidity = 45
[shop]
zone = "Europe/Berlin"
shift = ["07:30-12:00", "12:30-16:30"]
[[part]]
id = "skin"
state = "replace"
on_hand = true
material = "EN AW-6016-T4"
thickness = "1.0 mm"
hides = ["inner"]
[[part]]
id = "inner"
material = "EN AW-6016-T4"
thickness = "1.5 mm"
[[joint]]
id = "edge"
layers = ["skin", "inner"]
length = "600 mm"
flange = "20 mm"
old = { fastener = "self-piercing rivet", diameter = "5.3 mm", count = 10, adhesive = true }
remake = { rivet = "R48", count = 10, adhesive = "G1" }
[[rivet]]
id = "R48"
diameter = "4.8 mm"
grip = ["1 mm", "4 mm"]
head_diameter = "9.5 mm"
on_hand = 40
[[adhesive]]
id = "G1"
thickness = "0.3 mm"
cartridge = "200 ml"
on_hand = 2
use_by = 2027-03-01
"""
    + TIMES_AT_23
)


@pytest.fixture(scope="session")
def panel() -> Callable[..., Repair]:
    """A repair of one panel, with texts replaced and tables added."""

    def build(more: str = "", **changes: str) -> Repair:
        text = PANEL + more
        for old, new in changes.items():
            assert old in NAMED, old
            assert NAMED[old] in text, old
            text = text.replace(NAMED[old], new, 1)
        return read(text)

    return build


NAMED = {
    "opened": "opened = 2026-11-20T07:30:00+01:00",
    "name": '"wren-7"',
    "drive": 'drive = "combustion"',
    "zone": 'zone = "Europe/Berlin"',
    "shift": 'shift = ["07:30-12:00", "12:30-16:30"]',
    "on_hand": "on_hand = true",
    "work": 'time = "60 min"',
    "handle": 'time = "4 h"',
    "use_by": "use_by = 2027-03-01",
    "count": 'remake = { rivet = "R48", count = 10, adhesive = "G1" }',
    "stock": "on_hand = 40",
}
