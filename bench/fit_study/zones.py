"""Panels to misplace: points, edges, flanges and pins of the six starting layouts.

The layouts are read as plain data. Of each only the one panel is kept; everything else is body.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NAMES = {
    "van-rear-corner": "outer",
    "pickup-box-side": "outer",
    "estate-rear-quarter": "outer",
    "front-wing-bonnet": "wing",
    "door-skin": "skin",
    "roof": "roof",
}
"""Layout and the panel in it that is placed."""
_PLAY_MM = {"0.5 mm": 0.5, "2 mm": 2.0}
_MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class Edge:
    """A place where gap and flush are read, with their directions."""

    id: str
    xyz: Floats
    gap_towards: Floats
    flush_towards: Floats


@dataclass(frozen=True)
class Flange:
    """A place where the panel lies against its neighbour."""

    id: str
    xyz: Floats
    normal: Floats


@dataclass(frozen=True)
class Pin:
    """A pin: directions along and across in which it holds, and its play."""

    id: str
    xyz: Floats
    axis: Floats
    slot: Floats | None
    play_mm: float

    @property
    def directions(self) -> tuple[Floats, Floats]:
        """Along the slot (else the vehicle's axis that lies flattest to the hole) and across."""
        along = self.slot
        if along is None:
            flattest = np.eye(3)[int(np.argmin(np.abs(self.axis)))]
            along = flattest - self.axis * (flattest @ self.axis)
        along = along / np.linalg.norm(along)
        return along, np.cross(self.axis, along)


@dataclass(frozen=True)
class Zone:
    """One panel on one body, written for damage on the left.

    Parameters
    ----------
    body : mapping
        Points of the body, mm. Of a pair both are here, of the panel's points the twins.
    pairs : tuple of (near, far)
        Pairs of body points that lie mirror-wise.
    panel : mapping
        Points of the panel, mm.
    twin : mapping
        Twin of each of the panel's points, a body point; empty for a roof.
    """

    name: str
    part: str
    body: dict[str, Floats]
    pairs: tuple[tuple[str, str], ...]
    panel: dict[str, Floats]
    twin: dict[str, str]
    edges: tuple[Edge, ...]
    flanges: tuple[Flange, ...]
    pins: tuple[Pin, ...]


@cache
def zone(name: str) -> Zone:
    """Read one layout."""
    text = files("panelwright.facts.layouts").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    part = NAMES[name]
    body: dict[str, Floats] = {}
    panel: dict[str, Floats] = {}
    twin: dict[str, str] = {}
    pairs = []
    for pair in data["pair"]:
        near, far = f"L{pair['number']}", f"R{pair['number']}"
        xyz = np.array(pair["xyz"], dtype=float)
        if pair.get("on") == part:
            panel[near] = xyz
            if pair.get("far_on") == part:
                panel[far] = xyz * _MIRROR
            else:
                body[far], twin[near] = xyz * _MIRROR, far
        elif "on" not in pair:
            body[near], body[far] = xyz, xyz * _MIRROR
            pairs.append((near, far))
    for point in data["point"]:
        (panel if point.get("on") == part else body)[point["id"]] = np.array(point["xyz"], float)
    mine: dict[str, list[dict[str, Any]]] = {
        kind: [row for row in data[kind] if row["part"] == part]
        for kind in ("station", "contact", "locator")
    }
    return Zone(
        name,
        part,
        body,
        tuple(pairs),
        panel,
        twin,
        tuple(
            Edge(s["id"], _floats(s["xyz"]), _floats(s["gap_towards"]), _floats(s["flush_towards"]))
            for s in mine["station"]
        ),
        tuple(Flange(c["id"], _floats(c["xyz"]), _floats(c["normal"])) for c in mine["contact"]),
        tuple(
            Pin(
                p["id"],
                _floats(p["xyz"]),
                _floats(p["axis"]),
                _floats(p["slot_along"]) if "slot_along" in p else None,
                _PLAY_MM[p["clearance"]],
            )
            for p in mine["locator"]
        ),
    )


def _floats(values: list[float]) -> Floats:
    return np.array(values, dtype=float)
