"""Writes the readings of box-side-inches.toml, as a technician with an inch tape would.

The pick-up "Tern" is invented, and so are its dimensions and readings. At a first look, told in
words, the new box side hangs

    shift [2.4, -2.2, 0.5] mm, turn [0.3, 0.5, -0.4] mrad (rotation vector, right-hand rule)

off about the mean of its homes; after a move

    shift [0.25, -0.15, 0.20] mm, turn [0.3, 0.5, -0.4] mrad.

Spans are read to 1/16 in, gaps to 1/32 in or in words.
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
    dot,
    inches,
    mean,
    mirrored,
    scaled,
    table,
    text,
    with_block,
)

FILE = Path(__file__).parent / "box-side-inches.toml"
SCRIPT = "make_box_side.py"
BLOCK = "readings"
SEED = 38
FIRST_SHIFT_MM: Vector = (2.4, -2.2, 0.5)
SHIFT_MM: Vector = (0.25, -0.15, 0.20)
TURN_MRAD: Vector = (0.3, 0.5, -0.4)

INCH = 25.4
TAPE = Instrument(u_mm=0.65, step_mm=Fraction(254, 160), scale=1e-4)
GAUGE = Instrument(u_mm=0.2, step_mm=Fraction(254, 320))
"""With the rounding to their steps, 1/32 in and 0.012 in, as the file says."""
SHEET_U_MM = 0.8
TOLERANCE_MM = 1.5875

BODY_IN: dict[str, Vector] = {
    "N1": (104, 0, 30),
    "N2": (176, 0, 30),
    "N3": (104, 34, 49),
    "N4": (106, 37, 26),
    "N5": (140, 0, 31),
    "RE": (174, 36, 50),
    "RF": (175, 36.5, 30),
}
SIDE_IN: dict[str, Vector] = {
    "A": (105, -36, 49.5),
    "B": (106, -37, 27),
    "C": (132, -38.5, 34),
    "D": (150, -38.5, 34),
    "G": (140, -36, 50),
    "E": (174, -36, 50),
    "F": (175, -36.5, 30),
}
TWINS = {"E": "RE", "F": "RF"}
"""Points of the box side whose home is their opposite number; A and B were read before."""
BEFORE = ("A", "B")

OUTWARD: Vector = (0, -1, 0)
STATIONS: dict[str, tuple[Vector, Vector, float]] = {
    "cab top": ((104.5, -36, 48), (1, 0, 0), 0.75),
    "cab bottom": ((105, -37.5, 30), (1, 0, 0), 0.75),
    "gate top": ((175.5, -35.5, 48), (-1, 0, 0), 0.25),
    "gate bottom": ((175.5, -36, 33), (-1, 0, 0), 0.25),
}
"""Place in inches, direction that opens the gap, gap wanted in inches."""
SPOKEN = ("gate top", "gate bottom")
"""Told in words at the second look too."""

SPANS_BEFORE = (
    ("N3", "A"),
    ("N1", "A"),
    ("N2", "A"),
    ("N5", "A"),
    ("N1", "B"),
    ("N2", "B"),
    ("N4", "B"),
    ("N5", "B"),
)
SPANS_MOVED = (
    ("RE", "E"),
    ("N2", "E"),
    ("RF", "F"),
    ("N1", "F"),
    ("N3", "A"),
    ("N2", "G"),
)
COMPARED = (("N3", "E"), ("RE", "A"))
CONTACTS = {"front": "seated", "arch": "forced", "post": "seated", "rail": "seated"}
LOCATORS = ("front hole", "rear slot")


def millimetres_of(place_in: Vector) -> Vector:
    """A place given in inches, in millimetres."""
    return scaled(place_in, INCH)


@dataclass(frozen=True)
class Truck:
    """True places before the old panel came off and now, and how the box side hung and hangs."""

    before: dict[str, Vector]
    now: dict[str, Vector]
    first: Placement
    moved: Placement


def built(technician: Technician) -> Truck:
    """The truck as built, with the box side hung twice."""
    body = {
        name: add(millimetres_of(place), technician.scatter(SHEET_U_MM))
        for name, place in BODY_IN.items()
    }
    homes: dict[str, Vector] = {}
    shape: dict[str, Vector] = {}
    for name, place in SIDE_IN.items():
        homes[name] = millimetres_of(place)
        shape[name] = technician.scatter(SHEET_U_MM)
        if name in BEFORE:
            homes[name] = add(homes[name], technician.scatter(SHEET_U_MM))
            shape[name] = (0.0, 0.0, 0.0)
        elif name in TWINS:
            homes[name] = mirrored(body[TWINS[name]])
    middle = mean(list(homes.values()))
    hung = Placement(SHIFT_MM, TURN_MRAD, middle)
    now = {name: add(hung.moved(home), shape[name]) for name, home in homes.items()}
    first = Placement(FIRST_SHIFT_MM, TURN_MRAD, middle)
    return Truck({**body, **homes}, {**body, **now}, first, hung)


def span(technician: Technician, places: dict[str, Vector], a: str, b: str, **keys: str) -> str:
    """One cross-measure in inches."""
    value = text(inches(technician.span(places[a], places[b], TAPE)))
    ends = {"from": text(a), "to": text(b), "value": value, "with": text("tape")}
    return table("reading", **ends, **keys)


def in_words(off_mm: float, words: tuple[str, str, str]) -> str:
    """Less, within or more than the tolerance, in the words of the trade."""
    if off_mm < -TOLERANCE_MM:
        return words[0]
    return words[2] if off_mm > TOLERANCE_MM else words[1]


def station(
    technician: Technician, hung: Placement, name: str, *, setting: int, spoken: bool
) -> str:
    """Gap and flush at one place, in inches or in words."""
    place_in, towards, want_in = STATIONS[name]
    off = hung.off(millimetres_of(place_in))
    opened, proud = dot(towards, off), dot(OUTWARD, off)
    keys = {"station": text(name)}
    if spoken:
        keys["gap"] = text(in_words(opened, ("tight", "ok", "wide")))
        keys["flush"] = text(in_words(proud, ("low", "ok", "high")))
    else:
        keys["gap"] = text(inches(technician.reads(want_in * INCH + opened, GAUGE)))
        keys["flush"] = text(inches(technician.reads(proud, GAUGE)))
        keys["with"] = text("gauge")
    return table("reading", **keys, setting=str(setting))


def readings() -> str:
    """All readings of the file."""
    technician = Technician(SEED)
    truck = built(technician)
    blocks = [span(technician, truck.before, a, b, when=text("before")) for a, b in SPANS_BEFORE]
    blocks += [station(technician, truck.first, name, setting=1, spoken=True) for name in STATIONS]
    blocks += [span(technician, truck.now, a, b, setting="2") for a, b in SPANS_MOVED]
    values = [technician.span(truck.now[a], truck.now[b], TAPE) for a, b in COMPARED]
    pairs = ", ".join(f'["{a}", "{b}"]' for a, b in COMPARED)
    keys = {"compare": f"[{pairs}]", "difference": text(inches(values[0] - values[1]))}
    blocks.append(table("reading", **keys, with_=text("tape"), setting="2"))
    blocks += [
        station(technician, truck.moved, name, setting=2, spoken=name in SPOKEN)
        for name in STATIONS
    ]
    blocks += [
        table("reading", contact=text(name), state=text(state), setting="2")
        for name, state in CONTACTS.items()
    ]
    blocks += [
        table("reading", locator=text(name), state=text("aligned"), setting="2")
        for name in LOCATORS
    ]
    return "\n".join(blocks)


def box_side(document: str) -> str:
    """box-side-inches.toml with its readings written anew."""
    return with_block(document, SCRIPT, BLOCK, readings())


def main() -> None:
    """Write the file."""
    FILE.write_text(box_side(FILE.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
