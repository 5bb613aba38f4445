"""The starter file: what is switched off in it is right once it is switched on."""

from __future__ import annotations

import re

from panelwright.cli.starter import starter
from panelwright.facts.file import read
from panelwright.facts.models.readings import SpanReading
from panelwright.facts.repair import Repair
from panelwright.fit import answer

_OFF = re.compile(r"^# (?=\[{1,2}\w|\w+ = )")
_ELLIPSIS = re.compile(r"^# remake = ")


def switched_on(text: str) -> str:
    """Every line that is switched off, switched on; `remake` stands for what only a maker knows."""
    return "\n".join(
        line if _ELLIPSIS.match(line) else _OFF.sub("", line) for line in text.splitlines()
    )


def on() -> Repair:
    return read(switched_on(starter("van-7")))


def test_every_line_that_is_switched_off_can_be_switched_on() -> None:
    assert read(starter("van-7")).problems == ()
    assert on().problems == ()


def test_it_shows_the_keys_of_the_fit() -> None:
    repair = on()
    assert repair.point_by_id["L1"].hole is not None
    assert repair.part_by_id["outer"].spring is not None
    assert {tool.id: (tool.class_, tool.hook, tool.floor) for tool in repair.tools} == {
        "tape": ("II", True, None),
        "level": (None, False, "sloping"),
    }
    assert repair.sisters[0].point == "L1"
    assert repair.adjusters[0].what == "shim"
    reading = repair.readings[0]
    assert isinstance(reading, SpanReading)
    assert reading.temperature is not None
    assert reading.to_edge == "far"


def test_the_fit_takes_them() -> None:
    found = answer(on())
    assert {correction.kind for correction in found.corrections} == {"edge", "temperature"}
    assert [part.id for part in found.parts] == ["outer"]
