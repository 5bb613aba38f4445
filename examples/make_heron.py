"""Writes the points and readings of heron.toml, heron-moved.toml and heron-found.toml.

The parcel van "Heron" is invented, and so are its dimensions, its procedure, its rivets, adhesive
and pads. The readings are what a technician would have taken on it: the geometry and the noise
below make them, with no help from panelwright. At its first dry fit the panel hangs

    shift 1.8 mm rearward, 1.5 mm outward (to the left), 2.2 mm up: [1.8, -1.5, 2.2] mm
    turn [1.5, 3.0, -2.0] mrad (rotation vector, right-hand rule)

about the mean of its homes; after the move, in heron-moved.toml,

    shift [0.15, -0.10, 0.20] mm, turn [0.10, 0.15, -0.10] mrad.

Run it from anywhere: `python examples/make_heron.py`. It changes only the blocks that it marks,
and copies what heron.toml holds into the other two files.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from simulator import (
    Instrument,
    Placement,
    Technician,
    Vector,
    add,
    cross,
    dot,
    mean,
    millimetres,
    mirrored,
    table,
    text,
    vector,
    with_block,
)

FOLDER = Path(__file__).parent
SCRIPT = "make_heron.py"
SHARED = "format = 1\n"
NEW = "# ======== what this file adds to heron.toml ========\n"

SEED = 114
FIRST_SHIFT_MM: Vector = (1.8, -1.5, 2.2)
FIRST_TURN_MRAD: Vector = (1.5, 3.0, -2.0)
MOVED_SHIFT_MM: Vector = (0.15, -0.10, 0.20)
MOVED_TURN_MRAD: Vector = (0.10, 0.15, -0.10)

SHEET_U_MM = 1.0
SYMMETRY_U_MM = 1.0
MAKING_U_MM = 0.7
"""Scatter of one side as built; the difference of two sides then has symmetry.u."""

TAPE = Instrument(u_mm=1.0, step_mm=Fraction(1), scale=1.3e-4)
TRAM = Instrument(u_mm=0.5, step_mm=Fraction(1, 2), scale=-0.5e-4)
GAUGE = Instrument(u_mm=0.2, step_mm=Fraction(1, 10))
TOOLS = {"tape": TAPE, "tram": TRAM}
AT_A_PIN = Instrument(u_mm=0.25, step_mm=Fraction(1, 10))
"""Gauge and the pin's play of ±0.25 mm in its hole together."""

PAIRS: dict[str, tuple[Vector, str]] = {
    "1": ((3180, 960, 1980), "side door opening, rear edge, top"),
    "2": ((3180, 975, 640), "side door opening, rear edge, bottom"),
    "3": ((3250, 905, 2110), "roof rail, front hole"),
    "4": ((4700, 640, 545), "rear floor, outer datum hole"),
    "5": ((3760, 968, 1990), "side-wall seam, top"),
    "6": ((3760, 982, 1120), "side-wall seam, above the arch"),
    "7": ((4040, 985, 780), "wheel arch, rear"),
    "8": ((4420, 975, 560), "sill, rear end"),
    "9": ((4840, 940, 1420), "lamp pocket, upper corner"),
    "10": ((4850, 945, 900), "lamp pocket, lower corner"),
    "11": ((4870, 900, 2010), "rear door opening, upper corner"),
    "12": ((4330, 990, 1500), "swage line, middle"),
}
"""Right-hand place by the maker's (invented) dimension sheet, and what it is."""
ON_OUTER = ("5", "6", "7", "8", "9", "10", "11", "12")
DAMAGED = ("9", "10", "11")
CENTRE: dict[str, tuple[Vector, str]] = {
    "C1": ((4700, 0, 550), "rear floor, centre datum hole"),
    "C2": ((4860, 0, 2160), "rear roof bow, centre hole"),
    "C3": ((1900, 0, 900), "front bulkhead, centre hole"),
}


@dataclass(frozen=True)
class Edge:
    """A gap-and-flush check: place, neighbour, directions, and what the gap should be."""

    xyz: Vector
    beside: str
    gap_towards: Vector
    want_mm: float
    name: str


OUTWARD: Vector = (0, -1, 0)
STATIONS: dict[str, Edge] = {
    "d1": Edge((4875, -905, 1900), "rear-door", (-1, 0, 0), 5.0, "rear door, top"),
    "d2": Edge((4875, -935, 1450), "rear-door", (-1, 0, 0), 5.0, "rear door, middle"),
    "d3": Edge((4875, -945, 950), "rear-door", (-1, 0, 0), 5.0, "rear door, bottom"),
    "t1": Edge((4780, -950, 1430), "lamp", (0, 0, 1), 2.5, "tail lamp, upper edge"),
    "b1": Edge((4700, -970, 610), "bumper", (0, 0, 1), 4.0, "bumper, upper edge"),
    "s1": Edge((3745, -970, 1900), "side", (1, 0, 0), 3.0, "side-wall seam, top"),
    "s2": Edge((3745, -985, 1200), "side", (1, 0, 0), 3.0, "side-wall seam, bottom"),
    "r1": Edge((4300, -915, 2050), "rail", (0, 0, -1), 3.5, "roof rail, middle"),
}
CONTACTS: dict[str, tuple[Vector, str]] = {
    "c1": ((4000, -965, 720), "arch flange"),
    "c2": ((3740, -950, 1880), "side-wall seam flange"),
    "c3": ((4400, -955, 585), "sill flange"),
    "c4": ((4850, -880, 1880), "post flange, top"),
    "c5": ((4850, -925, 1000), "post flange, bottom"),
}
FORCED = ("c3",)
LOCATORS: dict[str, tuple[Vector, Vector | None, str]] = {
    "p1": ((4810, -940, 1180), None, "round pin on the corner post"),
    "p2": ((3750, -975, 1300), (1, 0, 0), "slotted pin on the side-wall flange"),
}
ACROSS_THE_SKIN: Vector = (0, 1, 0)

SPANS_BEFORE = (
    ("R1", "L2", "tape"),
    ("L1", "R2", "tape"),
    ("L1", "R1", "tape"),
    ("L2", "R2", "tape"),
    ("R3", "L4", "tape"),
    ("L3", "R4", "tape"),
    ("C2", "L3", "tape"),
    ("C3", "L1", "tape"),
    ("C1", "L4", "tram"),
)
SPANS_FIRST = (
    ("C2", "L11", "tram"),
    ("C1", "L10", "tram"),
    ("R4", "L9", "tape"),
    ("R1", "L5", "tape"),
    ("C3", "L6", "tape"),
    ("R2", "L7", "tape"),
    ("C1", "L8", "tram"),
)
COMPARED_FIRST = (
    (("R11", "L10"), ("L11", "R10")),
    (("R5", "L7"), ("L5", "R7")),
)
SPANS_MOVED = (
    ("C2", "L11", "tram"),
    ("C1", "L10", "tram"),
    ("R1", "L5", "tape"),
    ("C1", "L8", "tram"),
)


@dataclass(frozen=True)
class Van:
    """The van as it stands there: body, right side, and the new panel as stamped."""

    body: dict[str, Vector]
    homes: dict[str, Vector]
    shape: dict[str, Vector]

    def placement(self, shift_mm: Vector, turn_mrad: Vector) -> Placement:
        """The panel hung with a shift and a turn about the middle of its homes."""
        return Placement(shift_mm, turn_mrad, mean(list(self.homes.values())))

    def places(self, hung: Placement) -> dict[str, Vector]:
        """Every point's true place with the panel hung so."""
        panel = {name: add(hung.moved(home), self.shape[name]) for name, home in self.homes.items()}
        return {**self.body, **panel}


def built(technician: Technician) -> Van:
    """The van as built: the sheet's places with the scatter of making."""
    body: dict[str, Vector] = {}
    homes: dict[str, Vector] = {}
    shape: dict[str, Vector] = {}
    for name, (place, _) in CENTRE.items():
        body[name] = add(place, technician.scatter(SHEET_U_MM))
    for number, (place, _) in PAIRS.items():
        middle = add(place, technician.scatter(MAKING_U_MM))
        right = add(middle, technician.scatter(MAKING_U_MM))
        body[f"R{number}"] = right
        if number in ON_OUTER:
            homes[f"L{number}"] = mirrored(right)
            shape[f"L{number}"] = technician.scatter(SYMMETRY_U_MM)
        else:
            body[f"L{number}"] = mirrored(add(middle, technician.scatter(MAKING_U_MM)))
    return Van(body, homes, shape)


def point_blocks() -> str:
    """The points: centre, right side, left side."""
    blocks = [
        table("point", id=text(name), name=text(what), xyz=vector(place), u="1")
        for name, (place, what) in CENTRE.items()
    ]
    for number, (place, what) in PAIRS.items():
        right = {"id": text(f"R{number}"), "name": text(f"right {what}"), "xyz": vector(place)}
        blocks.append(table("point", **right, u="1", twin=text(f"L{number}")))
        left = {"id": text(f"L{number}"), "name": text(f"left {what}"), "twin": text(f"R{number}")}
        if number in ON_OUTER:
            left |= {"on": text("outer"), "home": text("twin"), "tolerance": text("3 mm")}
        else:
            left |= {"xyz": vector(mirrored(place))}
        if number in DAMAGED:
            left |= {"damaged": "true"}
        blocks.append(table("point", **left))
    return "\n".join(blocks)


def flange_blocks() -> str:
    """Stations, contacts and locators."""
    blocks = []
    for name, edge in STATIONS.items():
        where = {"id": text(name), "name": text(edge.name), "part": text("outer")}
        blocks.append(
            table(
                "station",
                **where,
                beside=text(edge.beside),
                xyz=vector(edge.xyz),
                gap_towards=vector(edge.gap_towards),
                flush_towards=vector(OUTWARD),
                gap=f'{{ want = "{edge.want_mm:g} mm", tolerance = "1 mm" }}',
                flush='{ want = "0 mm", tolerance = "1 mm" }',
            )
        )
    for name, (place, what) in CONTACTS.items():
        where = {"id": text(name), "name": text(what), "part": text("outer")}
        blocks.append(table("contact", **where, xyz=vector(place), normal=vector(OUTWARD)))
    for name, (place, slot, what) in LOCATORS.items():
        where = {"id": text(name), "name": text(what), "part": text("outer")}
        along = {} if slot is None else {"slot_along": vector(slot)}
        axis = vector(ACROSS_THE_SKIN)
        blocks.append(
            table(
                "locator", **where, xyz=vector(place), axis=axis, **along, clearance=text("0.5 mm")
            )
        )
    return "\n".join(blocks)


@dataclass
class Round:
    """One round of readings: who reads, what is true, and when."""

    technician: Technician
    places: dict[str, Vector]
    hung: Placement
    start: tuple[int, int, int]
    """Day of November 2026, hour, minute."""
    keys: dict[str, str]
    blocks: list[str]

    def signed(self) -> dict[str, str]:
        """Who and when, one minute after the reading before."""
        day, hour, minute = self.start
        minute += len(self.blocks)
        at = f"2026-11-{day:02d}T{hour:02d}:{minute:02d}:00+01:00"
        return {**self.keys, "by": text("technician 1"), "at": at}

    def span(self, start: str, end: str, tool: str) -> None:
        """Take a cross-measure."""
        value = self.technician.span(self.places[start], self.places[end], TOOLS[tool])
        keys = {"from": text(start), "to": text(end), "value": text(millimetres(value))}
        self.blocks.append(table("reading", **keys, with_=text(tool), **self.signed()))

    def compare(self, first: tuple[str, str], second: tuple[str, str]) -> None:
        """Compare side against side with the tape."""
        values = [
            self.technician.span(self.places[a], self.places[b], TAPE) for a, b in (first, second)
        ]
        pairs = ", ".join(f'["{a}", "{b}"]' for a, b in (first, second))
        keys = {"compare": f"[{pairs}]", "difference": text(millimetres(values[0] - values[1]))}
        self.blocks.append(table("reading", **keys, with_=text("tape"), **self.signed()))

    def station(self, name: str) -> None:
        """Read gap and flush at a station."""
        edge = STATIONS[name]
        off = self.hung.off(edge.xyz)
        gap = self.technician.reads(edge.want_mm + dot(edge.gap_towards, off), GAUGE)
        flush = self.technician.reads(dot(OUTWARD, off), GAUGE)
        keys = {"station": text(name), "gap": text(millimetres(gap))}
        keys |= {"flush": text(millimetres(flush)), "with": text("gauge")}
        self.blocks.append(table("reading", **keys, **self.signed()))

    def contact(self, name: str) -> None:
        """Look at a flange: seated, open by so much, or pulled shut with a clamp."""
        lift = dot(OUTWARD, self.hung.off(CONTACTS[name][0]))
        shown = self.technician.reads(lift, GAUGE)
        keys = {"contact": text(name)}
        if shown < Fraction(4, 10):
            keys |= {"state": text("seated")}
        elif name in FORCED:
            keys |= {"state": text("forced")}
        else:
            keys |= {"state": text("open"), "lift": text(millimetres(shown)), "with": text("gauge")}
        self.blocks.append(table("reading", **keys, **self.signed()))

    def locator(self, name: str) -> None:
        """Look at a pin: does it go in, and if not, by how much is it off along and across."""
        place, slot, _ = LOCATORS[name]
        off = self.hung.off(place)
        along = slot or (1.0, 0.0, 0.0)
        shown = [
            self.technician.reads(dot(direction, off), AT_A_PIN)
            for direction in (along, cross(ACROSS_THE_SKIN, along))
        ]
        bound = shown[1:] if slot else shown
        keys = {"locator": text(name), "state": text("aligned")}
        if any(abs(value) > Fraction(4, 10) for value in bound):
            amounts = ", ".join(text(millimetres(value)) for value in shown)
            keys |= {"state": text("off"), "off": f"[{amounts}]", "with": text("gauge")}
            keys |= {"u": text(f"{AT_A_PIN.u_mm:g} mm")}
        self.blocks.append(table("reading", **keys, **self.signed()))


def before_cutting(technician: Technician, van: Van) -> str:
    """The body's openings and diagonals, with the damaged panel still on."""
    hung = van.placement((0, 0, 0), (0, 0, 0))
    round_ = Round(technician, van.body, hung, (20, 9, 10), {"when": text("before")}, [])
    for span in SPANS_BEFORE:
        round_.span(*span)
    return "\n".join(round_.blocks)


def first_fit(technician: Technician, van: Van) -> str:
    """Ten minutes of readings at the first dry fit."""
    hung = van.placement(FIRST_SHIFT_MM, FIRST_TURN_MRAD)
    round_ = Round(technician, van.places(hung), hung, (24, 10, 20), {}, [])
    for span in SPANS_FIRST:
        round_.span(*span)
    for pairs in COMPARED_FIRST:
        round_.compare(*pairs)
    for name in STATIONS:
        round_.station(name)
    for name in CONTACTS:
        round_.contact(name)
    for name in LOCATORS:
        round_.locator(name)
    return "\n".join(round_.blocks)


def second_fit(technician: Technician, van: Van) -> str:
    """Readings after the panel was moved."""
    hung = van.placement(MOVED_SHIFT_MM, MOVED_TURN_MRAD)
    round_ = Round(technician, van.places(hung), hung, (24, 11, 20), {}, [])
    for span in SPANS_MOVED:
        round_.span(*span)
    for name in STATIONS:
        round_.station(name)
    for name in CONTACTS:
        round_.contact(name)
    for name in LOCATORS:
        round_.locator(name)
    return "\n".join(round_.blocks)


def blocks() -> dict[str, str]:
    """Every generated block by its name."""
    technician = Technician(SEED)
    van = built(technician)
    return {
        "points": point_blocks(),
        "flanges": flange_blocks(),
        "readings before cutting": before_cutting(technician, van),
        "readings of the first dry fit": first_fit(technician, van),
        "readings after the move": second_fit(technician, van),
    }


HERON_BLOCKS = (
    "points",
    "flanges",
    "readings before cutting",
    "readings of the first dry fit",
)
ARRIVES = "arrives = 2026-11-26T09:30:00+01:00     # ordered when the damage was found"


def heron(document: str) -> str:
    """heron.toml with its generated blocks written anew."""
    made = blocks()
    for block in HERON_BLOCKS:
        document = with_block(document, SCRIPT, block, made[block])
    return document


def extended(document: str, base: str) -> str:
    """One of the other files: its own head and tail about what heron.toml holds."""
    head = document[: document.index(SHARED)]
    tail = document[document.index(NEW) :]
    return f"{head}{base[base.index(SHARED) :].rstrip()}\n\n{tail}"


def found(document: str, base: str) -> str:
    """heron-found.toml: as heron.toml, with the ordered wheelhouse's arrival."""
    waiting = "on_hand = false                        # nobody knows yet whether it is needed\n"
    if base.count(waiting) != 1:
        raise ValueError("heron.toml must say once that nobody knows yet whether it is needed")
    return extended(document, base.replace(waiting, f"on_hand = false\n{ARRIVES}\n"))


def moved(document: str, base: str) -> str:
    """heron-moved.toml: as heron.toml, with the readings after the move."""
    block = "readings after the move"
    return with_block(extended(document, base), SCRIPT, block, blocks()[block])


def main() -> None:
    """Write the three files."""
    base = heron((FOLDER / "heron.toml").read_text(encoding="utf-8"))
    (FOLDER / "heron.toml").write_text(base, encoding="utf-8")
    for name, change in (("heron-found.toml", found), ("heron-moved.toml", moved)):
        path = FOLDER / name
        path.write_text(change(path.read_text(encoding="utf-8"), base), encoding="utf-8")


if __name__ == "__main__":
    main()
