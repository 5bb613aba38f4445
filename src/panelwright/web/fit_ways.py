"""Ways that a part can be off at a pin, in words, so that nobody types a direction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.fit.places import locator_directions

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Locator
    from panelwright.fit.vector import Vector

_WAYS = (("rearward", "forward"), ("to the right", "to the left"), ("up", "down"))


@dataclass(frozen=True)
class Way:
    """A direction and its opposite, in words."""

    plus: str
    minus: str


def way_of(direction: Vector) -> Way:
    """Give the words of a direction by its largest component.

    Examples
    --------
    >>> way_of((0.1, 0.0, -0.9))
    Way(plus='down', minus='up')
    """
    axis = max(range(3), key=lambda k: abs(direction[k]))
    plus, minus = _WAYS[axis]
    return Way(plus, minus) if direction[axis] >= 0 else Way(minus, plus)


def ways_of(locator: Locator) -> tuple[Way, Way]:
    """Give the ways along the slot and across it; of a round hole two across its axis."""
    along, across = locator_directions(locator)
    return way_of(along), way_of(across)
