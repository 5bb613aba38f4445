"""Points, tools and places where a part meets its neighbours."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from panelwright.facts.models.base import (
    Assumable,
    Direction,
    Name,
    NonNegativeLength,
    Position,
    PositiveDuration,
    PositiveLength,
    Spread,
    Table,
)
from panelwright.quantities import Length

HomeSource = Literal["twin", "xyz", "before", "sister"]
"""Mirror image of the twin, dimension sheet, old part before it came off, a sister vehicle."""


class AxisTolerance(Table):
    """Tolerance by axis; an axis left out is not judged."""

    x: PositiveLength | None = None
    y: PositiveLength | None = None
    z: PositiveLength | None = None


def _three(value: object) -> object:
    return value if isinstance(value, tuple) else (value, value, value)


class Point(Assumable):
    """`[[point]]`."""

    id: Name
    on: Name = "body"
    xyz: Position | None = None
    u: Annotated[tuple[Spread, Spread, Spread], BeforeValidator(_three)] | None = None
    """Standard uncertainty by axis, mm; left out: free, and xyz is only a place to start from."""
    twin: Name | None = None
    home: HomeSource | tuple[HomeSource, ...] | None = None
    """Where it belongs; of several, the weighted mean counts and the sources are compared."""
    tolerance: PositiveLength | AxisTolerance | None = None
    damaged: bool = False
    name: str | None = None
    hole: PositiveLength | None = None
    """Diameter, where the point is the centre of a hole: for readings from its edge."""

    @property
    def label(self) -> str:
        """What people call it."""
        return self.name or self.id

    @property
    def homes(self) -> tuple[HomeSource, ...]:
        """The sources of its home, each once."""
        if self.home is None:
            return ()
        return (self.home,) if isinstance(self.home, str) else tuple(dict.fromkeys(self.home))


class Sister(Table):
    """`[[sister]]`: where a point lies on another sound vehicle of the same build."""

    point: Name
    xyz: Position
    u: Annotated[tuple[Spread, Spread, Spread], BeforeValidator(_three)] | None = None
    """Standard uncertainty by axis, mm; left out: 1 mm."""
    vehicle: str | None = None
    """Which one it was."""


ToolKind = Literal["tape", "tram", "caliper", "gauge", "level", "photo"]


class Tool(Table):
    """`[[tool]]`."""

    id: Name
    kind: ToolKind | None = None
    """What it is; left out where the id says it."""
    u: NonNegativeLength | None = None
    """Seating and reading; left out: as usual for its kind."""
    offset_u: NonNegativeLength = Length.parse("0 mm")
    scale_u: Annotated[float, Field(ge=0, le=0.1)] = 0.0
    class_: Annotated[Literal["I", "II", "III"] | None, Field(alias="class")] = None
    """Accuracy class printed on a tape or rule (Directive 2014/32/EU)."""
    hook: bool = False
    """Read from the hook or butt end of the tape."""
    expansion: Annotated[float, Field(ge=0, le=1e-4)] | None = None
    """Linear thermal expansion of the tool, 1/K; left out: as usual for its kind."""
    pointer_u: NonNegativeLength | None = None
    """Of the set length of one pointer of a tram; left out: common practice."""
    floor: Literal["level", "sloping"] | None = None
    """With a level: heights count if the vehicle stands level, or with the slope left open."""
    resolution: NonNegativeLength = Length.parse("0 mm")
    """Step that its readings are rounded to; left out: `u` has it in it already."""
    reach: PositiveLength | None = None
    """Longest span that it reaches; left out: as usual for its kind."""
    minutes: PositiveDuration | None = None
    """Time of one reading with it; left out: `[shop] minutes`, else as usual for its kind."""
    source: str | None = None


class Check(Table):
    """What a gap or flush should be."""

    want: Length
    tolerance: PositiveLength | None = None
    u: NonNegativeLength | None = None


class Station(Assumable):
    """`[[station]]`: a place along an edge where gap and flush are checked."""

    id: Name
    part: Name
    beside: Name = "body"
    xyz: Position
    gap_towards: Direction | None = None
    flush_towards: Direction | None = None
    gap: Check | None = None
    flush: Check | None = None
    name: str | None = None


class Contact(Assumable):
    """`[[contact]]`: a mating flange where the part must lie against its neighbour."""

    id: Name
    part: Name
    against: Name = "body"
    xyz: Position
    normal: Direction
    name: str | None = None


class Locator(Assumable):
    """`[[locator]]`: pin, slot, match-drilled hole or bolt that ties the part."""

    id: Name
    part: Name
    against: Name = "body"
    xyz: Position
    axis: Direction
    slot_along: Direction | None = None
    clearance: NonNegativeLength | None = None
    name: str | None = None


class Blocked(Table):
    """`[[blocked]]`: a span that no tape can reach."""

    from_: Name = Field(alias="from")
    to: Name
