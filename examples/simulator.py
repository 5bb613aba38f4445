"""A small simulator of a technician with tape and gauge, for the readings of the examples.

It knows nothing of panelwright: plain vectors, its own rotation, its own noise. A vehicle side is
built as stamped, a panel is misplaced by a stated shift and turn, and each reading is what the
tool would have shown, rounded as the technician reads it.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from fractions import Fraction

Vector = tuple[float, float, float]

WROTE = "# >>> written by {script}: {block}"
ENDED = "# <<< end of {block}"


def add(a: Vector, b: Vector) -> Vector:
    """Sum of two vectors."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def minus(a: Vector, b: Vector) -> Vector:
    """Difference of two vectors."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scaled(a: Vector, factor: float) -> Vector:
    """A vector made longer or shorter."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def mirrored(a: Vector) -> Vector:
    """The opposite place across the centre plane y = 0."""
    return (a[0], -a[1], a[2])


def mean(places: list[Vector]) -> Vector:
    """Middle of some places."""
    total: Vector = (0.0, 0.0, 0.0)
    for place in places:
        total = add(total, place)
    return scaled(total, 1 / len(places))


def rotated(a: Vector, turn: Vector) -> Vector:
    """A vector turned by the right-hand rule about the axis of `turn`, whose length is in rad."""
    angle = math.sqrt(dot(turn, turn))
    if angle == 0:
        return a
    axis = scaled(turn, 1 / angle)
    along = scaled(axis, dot(axis, a) * (1 - math.cos(angle)))
    across = scaled(cross(axis, a), math.sin(angle))
    return add(add(scaled(a, math.cos(angle)), across), along)


@dataclass(frozen=True)
class Placement:
    """Where a panel hangs: shift in mm and turn in mrad about the middle of its homes."""

    shift_mm: Vector
    turn_mrad: Vector
    middle: Vector

    def moved(self, home: Vector) -> Vector:
        """Where a place of the panel is, whose home is given."""
        arm = rotated(minus(home, self.middle), scaled(self.turn_mrad, 1e-3))
        return add(add(self.middle, arm), self.shift_mm)

    def off(self, home: Vector) -> Vector:
        """How far a place of the panel is from its home."""
        return minus(self.moved(home), home)


@dataclass(frozen=True)
class Instrument:
    """A tool as it is in this technician's hands.

    Parameters
    ----------
    u_mm : float
        Standard uncertainty of seating and reading.
    step_mm : Fraction
        What it is read to.
    scale : float, default 0
        How much too long its true scale makes a reading, relative.
    """

    u_mm: float
    step_mm: Fraction
    scale: float = 0.0


@dataclass
class Technician:
    """Takes readings with noise from a seed, so that the same file comes out each time."""

    seed: int
    chance: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)  # noqa: S311 - repeatable noise, no secret

    def scatter(self, u: float) -> Vector:
        """Three independent errors."""
        x, y, z = (self.chance.gauss(0, u) for _ in range(3))
        return (x, y, z)

    def reads(self, true_mm: float, tool: Instrument) -> Fraction:
        """What the tool shows, in mm, rounded to its step."""
        shown = true_mm * (1 + tool.scale) + self.chance.gauss(0, tool.u_mm)
        return round(Fraction(shown) / tool.step_mm) * tool.step_mm

    def span(self, a: Vector, b: Vector, tool: Instrument) -> Fraction:
        """A distance between two places."""
        return self.reads(math.dist(a, b), tool)


def millimetres(value: Fraction) -> str:
    """A reading as it is written down in millimetres: "1834 mm", "0.4 mm"."""
    text = f"{float(value):.2f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} mm"


def inches(value: Fraction) -> str:
    """A reading in mm as a technician writes it in inches: "12 3/8 in", "-1/16 in"."""
    exact = value / Fraction(254, 10)
    whole, rest = divmod(abs(exact), 1)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{rest.numerator}/{rest.denominator}")
    return f"{'-' if exact < 0 else ''}{' '.join(words)} in"


def table(kind: str, /, **keys: str) -> str:
    """One table of an array, keys in the order given, values already written as TOML."""
    lines = [f"[[{kind}]]"]
    lines += [f"{key.rstrip('_')} = {value}" for key, value in keys.items()]
    return "\n".join(lines)


def text(value: str) -> str:
    """A TOML string."""
    return f'"{value}"'


def vector(value: Vector) -> str:
    """A TOML array of three numbers."""
    return "[" + ", ".join(f"{number:g}" for number in value) + "]"


def with_block(document: str, script: str, block: str, body: str) -> str:
    """The document with the body of one generated block replaced."""
    start = WROTE.format(script=script, block=block)
    end = ENDED.format(block=block)
    if document.count(start) != 1 or document.count(end) != 1:
        raise ValueError(f"the block {block!r} of {script} must stand in the file exactly once")
    head, rest = document.split(start)
    _, tail = rest.split(end)
    return f"{head}{start}\n{body}\n{end}{tail}"
