"""The model behind fit once more, written from the repair file's page with plain loops.

An independent second route: no code of the fit room, rotations by scipy, every reading by itself.
It covers what the corner below uses, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import hypot, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

Floats = NDArray[np.float64]
Tables = dict[str, list[dict[str, Any]]]

TOOLS = {"tape": (1.0, 0.5, 0.0002), "tram": (0.5, 0.0, 0.0001), "gauge": (0.2, 0.0, 0.0)}
"""u, offset_u, scale_u of the corner's tools."""
SYMMETRY_U = 1.0
MIRROR = np.array([1.0, -1.0, 1.0])
MOVED_AT = "2026-11-20T11:40:00+01:00"
LATER = "2026-11-20T13:00:00+01:00"


def corner() -> Tables:
    """A left rear corner with all that the model has; values of readings are filled in later."""
    point = [
        {"id": "C1", "xyz": [3200, 30, 420], "u": 0},
        {"id": "C2", "xyz": [900, -20, 400], "u": [0, 2, "free"]},
        {"id": "RA", "xyz": [1000, 800, 600], "twin": "LA", "u": 2},
        {"id": "LA", "xyz": [1003, -795, 604]},
        {"id": "RB", "xyz": [3000, 820, 1500], "twin": "LB"},
        {"id": "LB", "xyz": [2996, -826, 1494]},
        {"id": "RC", "xyz": [3900, 760, 700], "twin": "LC"},
        {"id": "LC", "xyz": [3920, -740, 715], "damaged": True},
        {"id": "R1", "xyz": [2600, 850, 1550], "on": "right"},
        {"id": "R2", "xyz": [3700, 830, 1450], "on": "right"},
        {"id": "R3", "xyz": [3300, 860, 600], "on": "right"},
        {"id": "L1", "on": "outer", "twin": "R1", "home": "twin", "tolerance": 3},
        {"id": "L2", "on": "outer", "twin": "R2", "home": "twin", "tolerance": 3},
        {"id": "L3", "on": "outer", "twin": "R3", "home": "twin", "tolerance": {"x": 3, "z": 2}},
        {"id": "L4", "on": "outer", "xyz": [2900, -840, 900], "u": [1, 2, 0], "home": "xyz"},
        {"id": "L5", "on": "outer", "xyz": [3100, -850, 1200]},
        {"id": "D1", "on": "door", "xyz": [2450, -820, 1400], "home": "before", "tolerance": 2},
        {"id": "D2", "on": "door", "xyz": [2440, -830, 500], "home": "before", "tolerance": 2},
        {"id": "D3", "on": "door", "xyz": [1500, -810, 900], "home": "before", "tolerance": 2},
    ]
    station = [
        {
            "id": "s1",
            "part": "outer",
            "beside": "door",
            "xyz": [2480, -830, 1000],
            "gap_towards": [1, 0, 0],
            "flush_towards": [0, -1, 0],
            "gap": {"want": 5, "tolerance": 1, "u": 0.25},
            "flush": {"want": 0, "tolerance": 1},
        },
        {
            "id": "s2",
            "part": "outer",
            "xyz": [3800, -800, 1400],
            "gap_towards": [0.6, 0, 0.8],
            "flush_towards": [0, -1, 0],
            "gap": {"want": 4, "tolerance": 1},
            "flush": {"want": 1, "tolerance": 1.5},
        },
    ]
    contact = [
        {"id": "c1", "part": "outer", "xyz": [3300, -870, 500], "normal": [0, -1, 0]},
        {
            "id": "c2",
            "part": "outer",
            "against": "door",
            "xyz": [2500, -850, 700],
            "normal": [1, 0, 0],
        },
    ]
    locator = [
        {
            "id": "p1",
            "part": "outer",
            "xyz": [3000, -860, 800],
            "axis": [0, 1, 0],
            "slot_along": [1, 0, 0],
            "clearance": 0.6,
        },
        {"id": "p2", "part": "door", "xyz": [1450, -800, 1200], "axis": [1, 0, 0]},
    ]
    body = ["C1", "C2", "RA", "LA", "RB", "LB", "RC", "LC", "R1", "R2", "R3"]
    spans = [(a, b) for i, a in enumerate(body) for b in body[:i]]
    reading: list[dict[str, Any]] = [
        {"from": a, "to": b, "with": "tram" if k % 3 else "tape"}
        for k, (a, b) in enumerate(spans)
        if k % 5 < 3
    ]
    reading += [{"point": name, "height": 0} for name in ("C2", "RA", "LB", "R3")]
    reading += [{"point": "RC", "xyz": [0, 0, 0], "u": 1.5}]
    before = {"when": "before"}
    reading += [
        {"from": a, "to": b, "u": 0.8, **before}
        for a in ("D1", "D2", "D3")
        for b in ("C1", "RA", "RB", "LB", "RC")
    ]
    first = {"at": "2026-11-20T09:00:00+01:00"}
    reading += [
        {"from": a, "to": b, **first} for a in ("L1", "L2", "L3") for b in ("C1", "RA", "RB")
    ]
    now = {"at": LATER}
    reading += [
        {"from": a, "to": b, **now}
        for a, b in (
            [(a, b) for a in ("L1", "L2", "L4", "L5") for b in ("C1", "RB", "RC", "LB")]
            + [("L2", "D1"), ("D1", "C1"), ("D2", "RB"), ("D3", "RC"), ("D3", "LB")]
        )
    ]
    reading += [
        {"compare": [["RA", "L3"], ["LA", "R3"]], "difference": 0, **now},
        {"station": "s1", "gap": 0, "flush": 0, "with": "gauge", **now},
        {"station": "s2", "gap": 0, "flush": "ok", **now},
        {"contact": "c1", "state": "seated", **now},
        {"contact": "c2", "state": "open", "lift": 0, **now},
        {"locator": "p1", "state": "aligned", **now},
        {"locator": "p2", "state": "off", "off": [0, 0], "u": 0.3, **now},
    ]
    return {
        "part": [
            {"id": "outer", "state": "replace"},
            {"id": "door", "state": "remove-and-refit"},
            {"id": "right", "state": "keep"},
        ],
        "tool": [{"id": "tape", "u": 1.0, "offset_u": 0.5, "scale_u": 0.0002}],
        "event": [{"kind": "moved", "part": "outer", "setting": 2, "at": MOVED_AT}],
        "point": point,
        "station": station,
        "contact": contact,
        "locator": locator,
        "reading": reading,
    }


HOMED = {
    "outer": ("L1", "L2", "L3", "L4"),
    "door": ("D1", "D2", "D3"),
}
POSES = (("outer", 1), ("outer", 2), ("door", 1))
SHAPE = {"L1": (1, 1, 1), "L2": (1, 1, 1), "L3": (1, 1, 1), "L4": (1, 2, 0)}


@dataclass
class PlainModel:
    """Names of unknowns and the residuals over u of the corner, from its tables."""

    tables: Tables
    names: dict[str, int] = field(default_factory=dict)
    start: list[float] = field(default_factory=list)
    poses: dict[tuple[bytes, str, int], tuple[Floats, Floats, Floats]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.points = {p["id"]: p for p in self.tables["point"]}
        self._name_points()
        for part, setting in POSES:
            for k in ("sx", "sy", "sz", "tx", "ty", "tz"):
                self._name(f"{part}.{setting}.{k}", 0.0)
            for name in HOMED[part]:
                for axis, spread in zip("xyz", SHAPE.get(name, (0, 0, 0)), strict=True):
                    if spread:
                        self._name(f"{name}.{setting}.e{axis}", 0.0)
        for name in ("tape.offset", "tape.scale", "tram.scale"):
            self._name(name, 0.0)

    def _name_points(self) -> None:
        for p in self.tables["point"]:
            u = p.get("u", "free")
            u = u if isinstance(u, list) else [u] * 3
            if p.get("on", "body") in {"body", "right"}:
                for axis, value, spread in zip("xyz", p["xyz"], u, strict=True):
                    if spread != 0:
                        self._name(f"{p['id']}.{axis}", value)
        for stem, name in [("before.", name) for name in HOMED["door"]] + [("", "L5")]:
            for axis, value in zip("xyz", self.points[name]["xyz"], strict=True):
                self._name(f"{name}.{stem}{axis}", value)

    def _name(self, name: str, value: float) -> None:
        self.names[name] = len(self.start)
        self.start.append(float(value))

    def _triple(self, x: Floats, stem: str, axes: str = "xyz") -> Floats:
        return np.array(
            [x[self.names[stem + a]] if stem + a in self.names else np.nan for a in axes]
        )

    def home(self, x: Floats, name: str) -> Floats:
        p = self.points[name]
        if p["home"] == "twin":
            return MIRROR * self.place(x, p["twin"], 0)
        if p["home"] == "xyz":
            return np.array(p["xyz"], dtype=float)
        return self._triple(x, f"{name}.before.")

    def off(self, x: Floats, part: str, setting: int, h: Floats) -> Floats:
        """c + R (h − c) + shift − h."""
        key = (x.tobytes(), part, setting)
        if key not in self.poses:
            c = np.mean([self.home(x, name) for name in HOMED[part]], axis=0)
            stem = f"{part}.{setting}."
            shift = np.array([x[self.names[stem + k]] for k in ("sx", "sy", "sz")])
            turn = np.array([x[self.names[stem + k]] for k in ("tx", "ty", "tz")])
            self.poses = {k: v for k, v in self.poses.items() if k[0] == key[0]}
            self.poses[key] = (c, Rotation.from_rotvec(turn).as_matrix(), shift)
        c, R, shift = self.poses[key]
        return c + R @ (h - c) + shift - h

    def place(self, x: Floats, name: str, setting: int) -> Floats:
        """Where a point is; setting 0 is before the part came off."""
        p = self.points[name]
        part = p.get("on", "body")
        if part == "door" and setting == 0:
            return self._triple(x, f"{name}.before.")
        if "home" in p:
            h = self.home(x, name)
            setting = setting if part == "outer" else 1
            e = np.nan_to_num(
                np.array(
                    [
                        x[self.names[f"{name}.{setting}.e{a}"]]
                        if f"{name}.{setting}.e{a}" in self.names
                        else 0.0
                        for a in "xyz"
                    ]
                )
            )
            return h + self.off(x, part, setting, h) + e
        found = self._triple(x, f"{name}.")
        return np.where(np.isnan(found), np.array(p["xyz"], dtype=float), found)

    def displaced(self, x: Floats, place: dict[str, Any], setting: int) -> Floats:
        q = np.array(place["xyz"], dtype=float)
        beside = place.get("beside", place.get("against", "body"))
        own = self.off(x, place["part"], setting if place["part"] == "outer" else 1, q)
        return own - (self.off(x, "door", 1, q) if beside == "door" else 0.0)

    def read(self, x: Floats, true: float, tool: str | None, *, offset: bool = True) -> float:
        scale = x[self.names[f"{tool}.scale"]] if f"{tool}.scale" in self.names else 0.0
        shared = x[self.names[f"{tool}.offset"]] if offset and f"{tool}.offset" in self.names else 0
        return float(true * (1.0 + scale) + shared)

    def equations(self, x: Floats) -> list[tuple[float, float, float]]:
        """Adjusted, observed and u of every scalar reading, in the order of the file."""
        rows: list[tuple[float, float, float]] = []
        for r in self.tables["reading"]:
            setting = 0 if r.get("when") == "before" else (2 if r.get("at") == LATER else 1)
            tool = r.get("with", None if "u" in r else "tape")
            u = r.get("u", TOOLS[tool or "tape"][0])
            if "from" in r:
                between = self.place(x, r["from"], setting) - self.place(x, r["to"], setting)
                rows.append((self.read(x, float(np.linalg.norm(between)), tool), r["value"], u))
            elif "compare" in r:
                (a, b), (c, d) = r["compare"]
                one = self.place(x, a, setting) - self.place(x, b, setting)
                other = self.place(x, c, setting) - self.place(x, d, setting)
                true = float(np.linalg.norm(one) - np.linalg.norm(other))
                rows.append((self.read(x, true, tool, offset=False), r["difference"], u))
            elif "height" in r:
                true = float(self.place(x, r["point"], setting)[2])
                rows.append((self.read(x, true, tool), r["height"], u))
            elif "xyz" in r:
                at = self.place(x, r["point"], setting)
                rows += [(float(v), o, u) for v, o in zip(at, r["xyz"], strict=True)]
            else:
                rows += self.at_places(x, r, setting)
        return rows

    def at_places(
        self, x: Floats, r: dict[str, Any], setting: int
    ) -> list[tuple[float, float, float]]:
        if "station" in r:
            s = next(s for s in self.tables["station"] if s["id"] == r["station"])
            d = self.displaced(x, s, setting)
            found = []
            for key in ("gap", "flush"):
                want, tolerance = s[key]["want"], s[key]["tolerance"]
                value = want + float(np.array(s[f"{key}_towards"]) @ d)
                u = s[key].get("u", 0.2)
                if r[key] == "ok":
                    found.append((value, want, hypot(tolerance / sqrt(3.0), u)))
                else:
                    found.append((value, r[key], u))
            return found
        if "contact" in r:
            c = next(c for c in self.tables["contact"] if c["id"] == r["contact"])
            lift = float(np.array(c["normal"]) @ self.displaced(x, c, setting))
            return [(lift, r.get("lift", 0.0), 0.3)]
        p = next(p for p in self.tables["locator"] if p["id"] == r["locator"])
        d = self.displaced(x, p, setting)
        axis = np.array(p["axis"], dtype=float)
        if "slot_along" in p:
            across = np.cross(axis, np.array(p["slot_along"], dtype=float))
            return [(float(across @ d), 0.0, p["clearance"] / sqrt(12.0))]
        along = np.array([0.0, 1.0, 0.0])
        across = np.cross(axis, along)
        return [(float(along @ d), r["off"][0], r["u"]), (float(across @ d), r["off"][1], r["u"])]

    def residuals(self, x: Floats) -> Floats:
        rows = [(adjusted - observed) / u for adjusted, observed, u in self.equations(x)]
        rows += [
            (x[self.names[f"{name}.{axis}"]] - value) / spread
            for name, axis, value, spread in (
                ("C2", "y", -20, 2),
                ("RA", "x", 1000, 2),
                ("RA", "y", 800, 2),
                ("RA", "z", 600, 2),
            )
        ]
        for left, right in (("LA", "RA"), ("LB", "RB")):
            difference = self.place(x, left, 1) - MIRROR * self.place(x, right, 1)
            rows += (difference / SYMMETRY_U).tolist()
        for part, setting in POSES:
            for name in HOMED[part]:
                for axis, spread in zip("xyz", SHAPE.get(name, (0, 0, 0)), strict=True):
                    if spread:
                        rows.append(x[self.names[f"{name}.{setting}.e{axis}"]] / spread)
        rows += [
            x[self.names["tape.offset"]] / TOOLS["tape"][1],
            x[self.names["tape.scale"]] / TOOLS["tape"][2],
            x[self.names["tram.scale"]] / TOOLS["tram"][2],
        ]
        return np.array(rows)


def simulated_corner(seed: int) -> tuple[PlainModel, Floats]:
    """The corner with readings of a simulated truth, and that truth."""
    random = np.random.default_rng(seed)
    tables = corner()
    model = PlainModel(tables)
    truth = np.array(model.start)
    for name, k in model.names.items():
        truth[k] += random.normal(0.0, _spread_of(name))
    for r in tables["reading"]:
        if "from" in r:
            r["value"] = 0.0  # until it is known
    values = iter([true + random.normal(0.0, 0.7 * u) for true, _, u in model.equations(truth)])
    for r in tables["reading"]:
        _fill_in(r, values)
    return model, truth


def _spread_of(name: str) -> float:
    """How far the truth of an unknown lies from where it starts."""
    last = name.rsplit(".", 1)[1]
    known = {"scale": 1e-4, "offset": 0.3}
    kinds = {"s": 2.0, "t": 2e-3, "e": 0.7}
    return known.get(last) or kinds.get(last[0], 3.0)


def _fill_in(r: dict[str, Any], values: Iterator[float]) -> None:
    """Put the simulated values into one reading."""
    if "from" in r:
        r["value"] = next(values)
    elif "compare" in r:
        r["difference"] = next(values)
    elif "height" in r:
        r["height"] = next(values)
    elif "xyz" in r:
        r["xyz"] = [next(values) for _ in range(3)]
    elif "station" in r:
        r["gap"], flush = next(values), next(values)
        r["flush"] = "ok" if r["flush"] == "ok" else flush
    elif "off" in r:
        r["off"] = [next(values), next(values)]
    else:
        lift = next(values)
        if "lift" in r:
            r["lift"] = lift
