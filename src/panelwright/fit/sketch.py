"""An equation in terms of points and places, before they have numbers."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from panelwright.fit.reading_answer import Correction
from panelwright.fit.tools import Spread

Vector = tuple[float, float, float]

SISTER_VEHICLE = "sister vehicle"
"""Owner of all nodes that were read on a sister vehicle."""

AXES: tuple[tuple[str, Vector], ...] = (
    ("x", (1.0, 0.0, 0.0)),
    ("y", (0.0, 1.0, 0.0)),
    ("z", (0.0, 0.0, 1.0)),
)


@dataclass(frozen=True, order=True)
class Node:
    """A point, or a place of a part, in one setting of its part."""

    owner: str
    setting: int
    id: str
    place: bool = False


class Kind(Enum):
    """What an equation is about."""

    READING = auto()
    COORDINATE = auto()
    """A coordinate that was given with an uncertainty."""
    PAIR = auto()
    """An undamaged pair that should lie mirror-wise."""
    SISTER = auto()
    """A point of a sister vehicle: its coordinates, or where the same point lies on this one."""
    HOME = auto()
    """A home that is the weighted mean of several sources: a definition, no observation."""


@dataclass(frozen=True)
class Sketch:
    """One scalar equation.

    Parameters
    ----------
    kind : Kind
    index : int
        Of the reading in the file, from 0; −1 where it is none.
    component : str
        "span", "compare", "height", "x", "y", "z", "gap", "flush", "lift", "along" or "across".
    observed_mm : float
    spread : Spread
    constant_mm : float
        What the terms are added to.
    distances : tuple of (sign, Node, Node)
    projections : tuple of (Node, direction)
    about : tuple of str
        The point, or the two of a pair, that a coordinate or a pair is about.
    levelled : Node or None
        The node whose height was read along the upright of a level on a sloping floor.
    corrections : tuple of Correction
        What was done to the reading before it counted.
    in_words : bool
        Whether it was told as a word, such as "ok" or "seated", and not as a number.
    """

    kind: Kind
    index: int
    component: str
    observed_mm: float
    spread: Spread
    constant_mm: float = 0.0
    distances: tuple[tuple[float, Node, Node], ...] = ()
    projections: tuple[tuple[Node, Vector], ...] = ()
    about: tuple[str, ...] = ()
    levelled: Node | None = None
    corrections: tuple[Correction, ...] = ()
    in_words: bool = False

    @property
    def nodes(self) -> tuple[Node, ...]:
        """The nodes that it touches."""
        ends = [node for _, a, b in self.distances for node in (a, b)]
        level = () if self.levelled is None else (self.levelled,)
        return (*ends, *(node for node, _ in self.projections), *level)

    @property
    def words(self) -> str:
        """What was read: the points of a span, or the place and the component."""
        if self.distances:
            said = " less ".join(f"{a.id} to {b.id}" for _, a, b in self.distances)
            return f"{said} ({SISTER_VEHICLE})" if self.nodes[0].owner == SISTER_VEHICLE else said
        if self.levelled is not None:
            return f"{self.levelled.id}, {self.component}"
        return f"{self.projections[0][0].id}, {self.component}" if self.projections else ""


def scaled(direction: Vector, factor: float) -> Vector:
    """A direction made longer or shorter, or turned round.

    Parameters
    ----------
    direction : Vector
        Any unit.
    factor : float
        [1]

    Returns
    -------
    Vector
        In the unit of `direction`.
    """
    return (direction[0] * factor, direction[1] * factor, direction[2] * factor)


def dot(one: Vector, other: Vector) -> float:
    """Scalar product.

    Parameters
    ----------
    one, other : Vector
        Any units.

    Returns
    -------
    float
        In the product of their units.
    """
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def cross(one: Vector, other: Vector) -> Vector:
    """Vector product.

    Parameters
    ----------
    one, other : Vector
        Any units.

    Returns
    -------
    Vector
        In the product of their units.
    """
    return (
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    )
