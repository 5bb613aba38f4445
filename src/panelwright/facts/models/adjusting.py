"""What a part can be adjusted by before its joints are closed."""

from __future__ import annotations

from typing import Literal

from panelwright.facts.models.base import Direction, Name, Position, PositiveLength, Table
from panelwright.quantities import Length

AdjusterKind = Literal["slot", "shim", "hinge"]

NEAR_MM = 1.0
"""Adjusters of one part no further apart are in one place: the directions of one hinge."""


class AdjusterSet(Table):
    """Where an adjuster was set to, in an `[[event]]` of kind "moved"."""

    adjuster: Name
    """Its id or name."""
    to: Length


class Adjuster(Table):
    """`[[adjuster]]`: what can be moved before the joint is closed.

    Turned up or packed out by 1 mm it takes the part there 1 mm along `along`.
    """

    part: Name
    xyz: Position
    along: Direction
    range: tuple[Length, Length]
    """Least and most, on the scale of `at`."""
    step: PositiveLength | None = None
    """Thickness of one shim; left out where it slides."""
    name: str | None = None
    id: Name | None = None
    kind: AdjusterKind | None = None
    """A hinge holds the part there in all directions in which it is not adjusted."""
    at: Length = Length.parse("0 mm")
    """Where it stands; a later event "moved" that names it under `adjusted` says it anew."""
    against: Name = "body"
    """What it stands on: the body, or another part."""
    frees: tuple[Name, ...] = ()
    """Contacts and locators that go with it, beside those at its own place."""

    @property
    def label(self) -> str:
        """What people call it."""
        return self.name or self.id or f"{self.what} of {self.part}"

    def is_called(self, name: str) -> bool:
        """Whether somebody means this one."""
        return name in (self.id, self.name, self.label)

    @property
    def what(self) -> AdjusterKind:
        """Slot, shim or hinge; by its step where nothing is said."""
        return self.kind or ("shim" if self.step is not None else "slot")
