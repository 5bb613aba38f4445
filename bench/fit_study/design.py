"""What a technician might read on one panel: a random, ordinary set of readings.

A design says which equations there are and how sure each reading is. It holds no truth yet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from bench.fit_study.forward import MIRROR, TOOLS, Layout, Rows
from bench.fit_study.zones import Edge, Flange, Pin, Zone
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SEATED_MM = 0.3
"""How near a seated flange lies, as the repair file's page says."""
READ = 0.7
"""Share of edges, flanges and pins that are looked at."""
TAPE_REACH_MM, TRAM_REACH_MM, LEAST_MM = 3000.0, 2000.0, 150.0
SCALE_U = {"tape": 2e-4, "tram": 1e-4}
WANT_MM = 4.0
"""What every gap should be."""


@dataclass
class Scalar:
    """One equation while a design is made."""

    sigma: float
    constant: float = 0.0
    tool: int = -1
    spans: list[tuple[int, int, int]] = field(default_factory=list)
    place: int = -1
    towards: Floats = field(default_factory=lambda: np.zeros(3))
    state: dict[int, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Entry:
    """One `[[reading]]` of the file: fixed keys, and which equations fill which keys."""

    keys: dict[str, Any]
    filled: tuple[tuple[str, tuple[int, ...]], ...]
    components: tuple[tuple[str, int], ...]
    """Name that the answer gives each equation, and its row."""


@dataclass(frozen=True)
class Design:
    """Equations, in the order readings, given coordinates, pairs, shapes, scales.

    Parameters
    ----------
    names : tuple of str
        Points: body first, then the panel's.
    readings : int
        How many of the equations are readings.
    numeric : array of int
        Rows whose value is a number in the file; the others say seated or aligned.
    held : tuple of (row, play)
        Rows that say seated (play 0) or aligned (play of the pin), mm.
    sheet : mapping
        First of three rows for every body point with given coordinates.
    """

    zone: Zone
    home: str
    layout: Layout
    rows: Rows
    names: tuple[str, ...]
    entries: tuple[Entry, ...]
    readings: int
    numeric: NDArray[np.int64]
    held: tuple[tuple[int, float], ...]
    sheet: dict[str, int]
    pair_rows: int
    tool_u: dict[str, float]
    sheet_u: float
    symmetry_u: float
    tolerance: dict[str, Any]


class Maker:
    """Collects equations and readings."""

    def __init__(self, zone: Zone, random: np.random.Generator) -> None:
        """Choose tools, homes and tolerances."""
        self.zone, self.random = zone, random
        self.tool_u = {
            "tape": float(random.choice([0.7, 1.0, 1.5])),
            "tram": float(random.choice([0.3, 0.5])),
            "gauge": float(random.choice([0.1, 0.2, 0.3])),
        }
        self.sheet_u = float(random.choice([0.5, 1.0, 2.0]))
        self.symmetry_u = float(random.choice([0.5, 1.0, 1.5]))
        own = "twin" if zone.twin else "before"
        self.home = own if random.random() < 0.75 else "xyz"
        self.body = list(zone.body)
        self.old = [f"old {name}" for name in zone.panel] if self.home == "before" else []
        self.panel = list(zone.panel)
        self.number = {name: k for k, name in enumerate([*self.body, *self.old, *self.panel])}
        self.near = {**zone.body, **zone.panel}
        self.near |= {f"old {name}": xyz for name, xyz in zone.panel.items()}
        self.places: list[Edge | Flange | Pin] = [*zone.edges, *zone.flanges, *zone.pins]
        self.scalars: list[Scalar] = []
        self.entries: list[Entry] = []
        self.numeric: list[int] = []
        self.held: list[tuple[int, float]] = []

    def add(self, scalar: Scalar, *, numeric: bool) -> int:
        """Add the equation of a reading."""
        self.scalars.append(scalar)
        if numeric:
            self.numeric.append(len(self.scalars) - 1)
        return len(self.scalars) - 1

    def length(self, a: str, b: str) -> float:
        """Nominal length of a span."""
        return float(np.linalg.norm(self.near[a] - self.near[b]))

    def span(self, a: str, b: str, **more: Any) -> None:
        """Read one span with a tape, or a tram where that reaches."""
        length = self.length(a, b)
        if not LEAST_MM < length < TAPE_REACH_MM:
            return
        tool = "tram" if length < TRAM_REACH_MM and self.random.random() < 0.4 else "tape"
        spans = [(self.number[a], self.number[b], 1)]
        row = self.add(Scalar(self.tool_u[tool], tool=TOOLS.index(tool), spans=spans), numeric=True)
        ends = [name.removeprefix("old ") for name in (a, b)]
        keys = {"from": ends[0], "to": ends[1], "with": tool, **more}
        self.entries.append(Entry(keys, (("value", (row,)),), (("span", row),)))

    def compare(self, one: tuple[str, str], other: tuple[str, str]) -> None:
        """Compare side against side: one reading of the difference."""
        lengths = self.length(*one), self.length(*other)
        if min(lengths) < LEAST_MM or max(lengths) > TAPE_REACH_MM:
            return
        number = self.number
        spans = [(number[one[0]], number[one[1]], 1), (number[other[0]], number[other[1]], -1)]
        row = self.add(Scalar(self.tool_u["tape"], tool=0, spans=spans), numeric=True)
        keys = {"compare": [list(one), list(other)], "with": "tape"}
        self.entries.append(Entry(keys, (("difference", (row,)),), (("compare", row),)))

    def displaced(
        self, place: int, towards: Floats, sigma: float, *, numeric: bool, want: float = 0.0
    ) -> int:
        """Read a displacement."""
        scalar = Scalar(sigma, constant=want, place=place, towards=towards)
        return self.add(scalar, numeric=numeric)

    def edge(self, place: int, edge: Edge) -> None:
        """Read gap, flush or both."""
        u = self.tool_u["gauge"]
        both = (("gap", edge.gap_towards, WANT_MM), ("flush", edge.flush_towards, 0.0))
        rows = [
            (name, self.displaced(place, towards, u, numeric=True, want=want))
            for name, towards, want in both
            if self.random.random() < 0.85
        ]
        if not rows:
            return
        filled = tuple((name, (row,)) for name, row in rows)
        self.entries.append(Entry({"station": edge.id, "with": "gauge"}, filled, tuple(rows)))

    def flange(self, place: int, flange: Flange, *, seated: bool) -> None:
        """Look at a flange: seated, or its lift by gauge."""
        sigma = SEATED_MM if seated else self.tool_u["gauge"]
        row = self.displaced(place, flange.normal, sigma, numeric=not seated)
        if seated:
            self.held.append((row, 0.0))
            keys = {"contact": flange.id, "state": "seated"}
            self.entries.append(Entry(keys, (), (("lift", row),)))
        else:
            keys = {"contact": flange.id, "state": "open", "with": "gauge"}
            self.entries.append(Entry(keys, (("lift", (row,)),), (("lift", row),)))

    def pin(self, place: int, pin: Pin, *, aligned: bool) -> None:
        """Look at a pin: aligned, or how far it is off by gauge."""
        along, across = pin.directions
        ways = [("along", along), ("across", across)]
        if aligned and pin.slot is not None:
            ways = ways[1:]
        sigma = pin.play_mm / np.sqrt(12.0) if aligned else self.tool_u["gauge"]
        rows = [
            (name, self.displaced(place, way, float(sigma), numeric=not aligned))
            for name, way in ways
        ]
        if aligned:
            self.held += [(row, pin.play_mm) for _, row in rows]
            keys = {"locator": pin.id, "state": "aligned"}
            self.entries.append(Entry(keys, (), tuple(rows)))
        else:
            keys = {"locator": pin.id, "state": "off", "with": "gauge"}
            filled = (("off", tuple(row for _, row in rows)),)
            self.entries.append(Entry(keys, filled, tuple(rows)))


def _readings(maker: Maker) -> None:
    """An ordinary set: spans, comparisons, edges, flanges, pins."""
    _spans(maker)
    _comparisons(maker)
    _places(maker)


def _spans(maker: Maker) -> None:
    random = maker.random
    for _ in range(int(random.integers(2, 7))):
        a, b = random.choice(maker.body, 2, replace=False)
        maker.span(str(a), str(b), when="before")
    for name in maker.old:
        for other in random.choice(maker.body, min(6, len(maker.body)), replace=False):
            maker.span(name, str(other), when="before")
    for _ in range(int(random.integers(5, 15))):
        maker.span(str(random.choice(maker.panel)), str(random.choice(maker.body)))


def _comparisons(maker: Maker) -> None:
    random, zone = maker.random, maker.zone
    for _ in range(int(random.integers(0, 4)) if zone.twin else 0):
        own = str(random.choice(list(zone.twin)))
        near, far = zone.pairs[int(random.integers(len(zone.pairs)))]
        maker.compare((far, own), (near, zone.twin[own]))


def _places(maker: Maker) -> None:
    """Edges, flanges (at most three seated) and pins (at most one aligned)."""
    random, zone = maker.random, maker.zone
    for k, edge in enumerate(zone.edges):
        if random.random() < READ:
            maker.edge(k, edge)
    first = len(zone.edges)
    seats = int(random.integers(0, 4))
    for k in random.permutation(len(zone.flanges)):
        if random.random() < READ:
            maker.flange(first + int(k), zone.flanges[k], seated=seats > 0)
            seats -= 1
    first += len(zone.flanges)
    pins = int(random.integers(0, 2))
    for k in random.permutation(len(zone.pins)):
        if random.random() < READ:
            maker.pin(first + int(k), zone.pins[k], aligned=pins > 0)
            pins -= 1


def _layout(maker: Maker) -> Layout:
    zone = maker.zone
    home_of = np.full(len(zone.panel), -1)
    if maker.home == "twin":
        home_of = np.array([maker.number[zone.twin[name]] for name in zone.panel])
    elif maker.home == "before":
        home_of = np.array([maker.number[f"old {name}"] for name in zone.panel])
    return Layout(
        len(maker.body) + len(maker.old),
        home_of.astype(np.int64),
        maker.home == "twin",
        np.array(list(zone.panel.values())),
        np.array([place.xyz for place in maker.places]),
    )


def _given(maker: Maker, layout: Layout) -> tuple[dict[str, int], int]:
    """Equations of given coordinates, pairs, shapes and scales; the rows of the first two."""
    near = {name for name, _ in maker.zone.pairs}
    sheet: dict[str, int] = {}
    for name in maker.body:
        if name in near:
            continue
        sheet[name] = len(maker.scalars)
        for axis in range(3):
            at = 3 * maker.number[name] + axis
            maker.scalars.append(Scalar(maker.sheet_u, state={at: 1.0}))
    pair_rows = len(maker.scalars)
    for one, other in maker.zone.pairs:
        for axis in range(3):
            own, across = (3 * maker.number[name] + axis for name in (one, other))
            differ = {own: 1.0, across: -float(MIRROR[axis])}
            maker.scalars.append(Scalar(maker.symmetry_u, state=differ))
    shape_u = {"twin": maker.symmetry_u, "xyz": maker.sheet_u, "before": 1e-3}[maker.home]
    for at in range(layout.shape.start, layout.shape.stop):
        maker.scalars.append(Scalar(shape_u, state={at: 1.0}))
    for k, tool in enumerate(TOOLS):
        maker.scalars.append(Scalar(SCALE_U[tool], state={layout.scale.start + k: 1.0}))
    return sheet, pair_rows


def _rows(scalars: list[Scalar], size: int) -> Rows:
    state = np.zeros((len(scalars), size))
    distance, displaced, towards = [], [], []
    for row, scalar in enumerate(scalars):
        distance += [(row, a, b, sign) for a, b, sign in scalar.spans]
        if scalar.place >= 0:
            displaced.append((row, scalar.place))
            towards.append(scalar.towards)
        for at, value in scalar.state.items():
            state[row, at] = value
    return Rows(
        np.array([scalar.constant for scalar in scalars]),
        np.array([scalar.sigma for scalar in scalars]),
        np.array([scalar.tool for scalar in scalars]),
        np.array(distance, dtype=np.int64).reshape(-1, 4),
        np.array(displaced, dtype=np.int64).reshape(-1, 2),
        np.array(towards, dtype=float).reshape(-1, 3),
        state,
    )


def _tolerance(random: np.random.Generator) -> Any:
    """A distance from home, or limits by axis."""
    if random.random() < 0.6:
        return float(random.choice([2.0, 3.0, 4.0]))
    axes = random.choice(
        list("xyz"), int(random.choice([1, 2, 3], p=[0.5, 0.4, 0.1])), replace=False
    )
    return {str(axis): float(random.choice([1.5, 2.0, 3.0])) for axis in axes}


def design(zone: Zone, random: np.random.Generator) -> Design:
    """Draw what is read."""
    maker = Maker(zone, random)
    _readings(maker)
    readings = len(maker.scalars)
    layout = _layout(maker)
    sheet, pair_rows = _given(maker, layout)
    return Design(
        zone,
        maker.home,
        layout,
        _rows(maker.scalars, layout.scale.stop),
        (*maker.body, *maker.old, *maker.panel),
        tuple(maker.entries),
        readings,
        np.array(maker.numeric, dtype=np.int64),
        tuple(maker.held),
        sheet,
        pair_rows,
        maker.tool_u,
        maker.sheet_u,
        maker.symmetry_u,
        {name: _tolerance(random) for name in zone.panel},
    )
