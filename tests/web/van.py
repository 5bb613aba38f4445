"""A van that is not there, and the technician who reads it: geometry and noise of their own.

The starting layout gives the names of the points and about where they are; this vehicle differs
from it by millimetres, and its new panel sits where the test says. Nothing here is taken from the
rooms of the program but the layout's table. All values are invented.
"""

from __future__ import annotations

import math
import random
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

Vector = tuple[float, float, float]
LAYOUT = files("panelwright.facts.layouts").joinpath("van-rear-corner.toml")
BUILD_MM, TAPE_MM, GAUGE_MM = 6.0, 0.5, 0.1
"""How far this vehicle is from the layout; standard deviations of what tape and gauge show."""
SEATED_MM = 0.25


@dataclass
class Van:
    """Where everything is, in millimetres: x rearward, y to the right, z up.

    Attributes
    ----------
    shift : vector
        How far the new panel is from where it belongs.
    turn : vector
        By how much it is turned, in thousandths, about its middle; right-hand rule.
    """

    shift: Vector = (0.0, 0.0, 0.0)
    turn: Vector = (0.0, 0.0, 0.0)
    chance: random.Random = field(default_factory=lambda: random.Random(20))  # noqa: S311 - noise
    _at: dict[str, Vector] = field(default_factory=dict)
    _panel: set[str] = field(default_factory=set)
    _places: dict[str, dict[str, object]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Build this vehicle: both sides alike, the middle in the middle."""
        table = tomllib.loads(LAYOUT.read_text("utf-8"))
        for pair in table["pair"]:
            x, y, z = self._built(pair["xyz"])
            self._at[f"L{pair['number']}"] = (x, y, z)
            self._at[f"R{pair['number']}"] = (x, -y, z)
            if pair.get("on") == "outer":
                self._panel.add(f"L{pair['number']}")
        for point in table["point"]:
            x, _, z = self._built(point["xyz"])
            self._at[point["id"]] = (x, 0.0, z)
        for kind in ("station", "contact", "locator"):
            self._places |= {one["id"]: one for one in table[kind]}
        outer = [self._at[name] for name in sorted(self._panel)]
        self._middle = tuple(sum(axis) / len(outer) for axis in zip(*outer, strict=True))

    def _built(self, near: list[float]) -> Vector:
        x, y, z = (value + self.chance.gauss(0.0, BUILD_MM) for value in near)
        return x, y, z

    def moved(self, at: Vector) -> Vector:
        """Give by how much the panel is off at a place."""
        x, y, z = (here - middle for here, middle in zip(at, self._middle, strict=True))
        roll, pitch, yaw = (turn / 1000.0 for turn in self.turn)
        turned = (pitch * z - yaw * y, yaw * x - roll * z, roll * y - pitch * x)
        dx, dy, dz = (shift + more for shift, more in zip(self.shift, turned, strict=True))
        return dx, dy, dz

    def at(self, name: str) -> Vector:
        """Give where a point is; of the panel, where it sits now."""
        x, y, z = self._at[name]
        dx, dy, dz = self.moved((x, y, z)) if name in self._panel else (0.0, 0.0, 0.0)
        return x + dx, y + dy, z + dz

    def tape(self, one: str, other: str) -> str:
        """Give what the tape shows, to the millimetre."""
        return f"{math.dist(self.at(one), self.at(other)) + self.chance.gauss(0.0, TAPE_MM):.0f}"

    def along(self, place: str, way: str) -> float:
        """Give by how much the panel is off at a place in the direction of a key of its table."""
        table = self._places[place]
        return self.towards(place, tuple(table[way]))  # type: ignore[arg-type]

    def towards(self, place: str, way: Vector) -> float:
        """Give by how much the panel is off at a place in a direction, as the gauge shows it."""
        off = self.moved(tuple(self._places[place]["xyz"]))  # type: ignore[arg-type]
        exact = sum(a * b for a, b in zip(off, way, strict=True))
        return exact + self.chance.gauss(0.0, GAUGE_MM)

    def wanted(self, place: str, what: str) -> float:
        """Give the gap or flush that a station wants."""
        table = self._places[place][what]
        assert isinstance(table, Mapping)
        return float(str(table["want"]).split()[0])


WAYS: Mapping[str, Vector] = {
    "rearward": (1.0, 0.0, 0.0),
    "forward": (-1.0, 0.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}


def read(page: Page, van: Van) -> str:
    """Take the reading that the screen asks for, as a technician would; say which it was."""
    key = page.locator("input[name=of]").first.input_value()
    kind, *names = key.split(":")
    if kind == "span":
        _span(page, van, *names)
    else:
        {"contact": _contact, "locator": _locator, "station": _station}[kind](page, van, names[0])
    page.get_by_role("status").filter(has_text="Stored").wait_for()
    return key


def _typed(page: Page, value: str) -> None:
    """Type into the field that waits for it, and Enter: no hand leaves the tool."""
    page.locator("input:focus").wait_for()
    page.keyboard.type(value)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def _span(page: Page, van: Van, one: str, other: str) -> None:
    _typed(page, van.tape(one, other))


def _contact(page: Page, van: Van, place: str) -> None:
    lift = van.along(place, "normal")
    if abs(lift) <= SEATED_MM:
        with page.expect_navigation():
            page.get_by_role("button", name="Seated").click()
    else:
        _typed(page, f"{max(lift, 0.0):.1f}")


def _station(page: Page, van: Van, place: str) -> None:
    _typed(page, f"{van.wanted(place, 'gap') + van.along(place, 'gap_towards'):.1f}")
    _typed(page, f"{van.wanted(place, 'flush') + van.along(place, 'flush_towards'):.1f}")


def _locator(page: Page, van: Van, place: str) -> None:
    """Say which way the hole is off the pin, in the words that the page offers."""
    for field_ in ("along", "across"):
        radios = page.locator(f"input[name={field_}_way]")
        ways = [radios.nth(n).input_value() for n in range(radios.count())]
        off = {way: van.towards(place, WAYS[way]) for way in ways}
        way = max(off, key=lambda one: off[one])
        page.locator(f"input[name={field_}_way][value={way}]").check()
        page.locator(f"input[name={field_}]").fill(f"{max(off[way], 0.0):.1f}")
    with page.expect_navigation():
        page.keyboard.press("Enter")
