"""Where labels of a drawing go so that none lies on another; millimetres on paper, y down."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

TEXT_MM = 2.6
LONGEST = 14
"""Characters of a label before it is cut short; the table beside the drawing has the whole."""

FAR_MM = 4.0
"""A label whose edge is farther from its spot than this has a line to it."""
_RINGS_MM = (1.0, 2.4, 4.2, 6.5, 9.5, 13.0, 18.0, 25.0, 35.0, 50.0, 70.0, 100.0)
_TURNS_DEG = (0, 45, -45, 90, -90, 135, -135, 180, 22.5, -22.5, 67.5, -67.5, 112.5, -112.5)
_WAYS = tuple((math.cos(math.radians(turn)), -math.sin(math.radians(turn))) for turn in _TURNS_DEG)
_ENOUGH = 40
"""Free places after which no farther ring is tried."""
_BUSY = 12.0
"""A place over something busy is taken only where so many places nearer are no better."""
_WIDE = frozenset("MWm@%—…□")


@dataclass(frozen=True)
class Rectangle:
    """A rectangle by its corners."""

    left: float
    top: float
    right: float
    bottom: float

    def touches(self, other: Rectangle) -> bool:
        """Whether two rectangles share any area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def away_mm(self, x: float, y: float) -> float:
        """How far a spot lies from its edge; 0 inside."""
        across = max(self.left - x, 0.0, x - self.right)
        down = max(self.top - y, 0.0, y - self.bottom)
        return math.hypot(across, down)

    def holds(self, other: Rectangle) -> bool:
        """Whether another rectangle lies wholly inside."""
        return (
            self.left <= other.left
            and self.right >= other.right
            and self.top <= other.top
            and self.bottom >= other.bottom
        )


def around(x: float, y: float, radius: float) -> Rectangle:
    """The square around a spot."""
    return Rectangle(x - radius, y - radius, x + radius, y + radius)


def text_width_mm(text: str, size_mm: float = TEXT_MM) -> float:
    """An upper bound of a text's width in the shipped font."""
    em = sum(0.95 if c in _WIDE else 0.79 if c.isupper() else 0.62 for c in text)
    return em * size_mm


def cut(text: str) -> str:
    """A label short enough for a drawing."""
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


@dataclass(frozen=True)
class Placed:
    """A label with its rectangle and the spot it belongs to."""

    text: str
    x: float
    y: float
    box: Rectangle
    leader: bool
    """Whether it stands far enough off to need a line to its spot."""


@dataclass
class Labels:
    """Places labels one by one; what is `taken` is never covered, what is `busy` if avoidable."""

    page: Rectangle
    taken: list[Rectangle] = field(default_factory=list)
    busy: list[Rectangle] = field(default_factory=list)
    placed: list[Placed] = field(default_factory=list)

    def _candidates(
        self, x: float, y: float, width: float, height: float, page: Rectangle
    ) -> Iterator[Rectangle]:
        """Free places around a spot, the nearest first."""
        found = 0
        for ring in _RINGS_MM:
            for along, down in _WAYS:
                middle_x = x + along * (ring + width / 2 + 1.2)
                middle_y = y + down * (ring + height / 2 + 1.2)
                box = Rectangle(
                    middle_x - width / 2,
                    middle_y - height / 2,
                    middle_x + width / 2,
                    middle_y + height / 2,
                )
                if page.holds(box) and not any(box.touches(other) for other in self.taken):
                    found += 1
                    yield box
            if found > _ENOUGH:
                return

    def _best(self, boxes: Iterator[Rectangle]) -> Rectangle | None:
        """The place that covers least of what is busy, and the nearest of those."""
        best, least = None, math.inf
        for order, box in enumerate(boxes):
            if order >= least:  # each place farther costs one more: none can be better
                break
            cost = order + _BUSY * sum(box.touches(other) for other in self.busy)
            if cost < least:
                best, least = box, cost
        return best

    def place(
        self, text: str, x: float, y: float, within: Rectangle | None = None
    ) -> Placed | None:
        """Put a label near a spot, inside a view where it has room, else anywhere on the page.

        None where the page has no room left.
        """
        text = cut(text)
        size = (text_width_mm(text) + 0.6, TEXT_MM * 1.15)
        best = self._best(self._candidates(x, y, *size, within or self.page))
        if best is None and within is not None:
            best = self._best(self._candidates(x, y, *size, self.page))
        if best is None:
            return None
        placed = Placed(text, x, y, best, best.away_mm(x, y) > FAR_MM)
        self.taken.append(best)
        self.placed.append(placed)
        return placed
