"""Parts, the joints between them, and what was found on them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from panelwright.facts.models.base import (
    Assumable,
    Instant,
    Name,
    NonNegativeLength,
    Positive,
    PositiveLength,
    Stretch,
    Table,
)
from panelwright.quantities import Area, Force, Length

State = Literal["keep", "repair", "section", "replace", "inspect", "remove-and-refit"]
JointKind = Literal["rivet-bond", "bond", "bolt", "weld", "hem", "sleeve"]


class Cut(Table):
    """One stretch of a joint that sectioning a part opens; without from and to the whole joint."""

    joint: Name
    from_: Annotated[NonNegativeLength | None, Field(alias="from")] = None
    to: NonNegativeLength | None = None


class Part(Assumable):
    """`[[part]]`."""

    id: Name
    name: str | None = None
    material: str | None = None
    thickness: PositiveLength | None = None
    state: State = "keep"
    structural: bool = False
    """True: nothing is proposed where the procedure is silent; ask the maker."""
    flex: Literal["skin", "box", "casting"] = "skin"
    spring: NonNegativeLength | None = None
    """How far a skin that is not pinned may be twisted or bowed, standard uncertainty of each;
    left out: it is taken as rigid."""
    pinned: bool = False
    """Clamped or pinned all round: it carries no twist or bow of its own."""
    hung: bool = True
    """False: a closure that is off or not hung; gaps and flushes with it do not count."""
    hides: tuple[Name, ...] = ()
    """Parts seen or reached only once this one is off."""
    carries: tuple[str, ...] = ()
    on_hand: bool | None = None
    arrives: Instant | None = None
    area: Annotated[Area, Positive] | None = None
    mass: Annotated[float, Field(gt=0)] | None = None
    """kg."""
    section: tuple[Cut, ...] = ()

    @property
    def label(self) -> str:
        """What people call it."""
        return self.name or self.id


class Old(Table):
    """What the factory set: `old` of a joint."""

    fastener: str | None = None
    diameter: PositiveLength | None = None
    count: Annotated[int, Field(ge=0)] | None = None
    at: tuple[NonNegativeLength, ...] = ()
    adhesive: bool = False
    strength: Annotated[Force, Positive] | None = None
    """Of one fastener; a bare number is kN."""


class Remake(Table):
    """What the procedure says of the repair joint; what it leaves out is proposed and marked."""

    rivet: str | None = None
    count: Annotated[int, Field(ge=0)] | None = None
    adhesive: str | None = None
    at: tuple[NonNegativeLength, ...] = ()
    edge: PositiveLength | None = None
    bond_line: PositiveLength | None = None


class Joint(Assumable):
    """`[[joint]]`; layers outermost first."""

    id: Name
    layers: tuple[Name, ...] = Field(min_length=1)
    kind: JointKind = "rivet-bond"
    length: PositiveLength | None = None
    flange: PositiveLength | None = None
    """Overlap width."""
    old: Old | None = None
    avoid: tuple[Stretch, ...] = ()
    remake: Remake | None = None
    name: str | None = None

    @property
    def label(self) -> str:
        """What people call it."""
        return self.name or self.id


class Finding(Table):
    """`[[finding]]`: damage seen; `state` replaces the part's state."""

    part: Name
    what: str
    state: State | None = None
    at: Instant | None = None
    by: str | None = None
    after: str | None = None
    """What had come off when it was seen."""


class Photo(Table):
    """`[[photo]]`: a stored photo, and what it shows."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    """Of the file as it is stored."""
    part: Name | None = None
    step: Name | None = None
    finding: Name | None = None
    """Id of the fact that tells the finding."""
    note: str | None = None
    at: Instant | None = None
    by: str | None = None


class Rivet(Table):
    """`[[rivet]]`: a blind rivet that the shop has or the procedure names."""

    id: Name
    name: str | None = None
    kind: str | None = None
    material: str | None = None
    diameter: PositiveLength
    length: PositiveLength | None = None
    grip: tuple[NonNegativeLength, NonNegativeLength] | None = None
    """Least and most stack."""
    head_diameter: PositiveLength | None = None
    hole: PositiveLength | None = None
    shear: Annotated[Force, Positive] | None = None
    tension: Annotated[Force, Positive] | None = None
    on_hand: Annotated[int, Field(ge=0)] | None = None
    source: str | None = None


class Pad(Table):
    """`[[pad]]`: a sound pad, traced from the old one."""

    part: Name
    outline: tuple[tuple[Length, Length], ...] = Field(min_length=3)
    name: str | None = None
    thickness: PositiveLength | None = None
    mass: Annotated[float, Field(gt=0)] | None = None
    """kg/m²."""
    modulus: Annotated[float, Field(gt=0)] | None = None
    """GPa."""
    loss: Annotated[float, Field(gt=0, le=3)] | None = None
    sheet: tuple[PositiveLength, PositiveLength] | None = None
    on_hand: Annotated[int, Field(ge=0)] | None = None
    """Stock sheets."""
    source: str | None = None


class Step(Table):
    """`[[step]]`: what the tool should not derive, or hours that the shop knows better."""

    id: Name
    name: str | None = None
    hours: Annotated[float, Field(ge=0, le=2000)] | None = None
    after: tuple[Name, ...] = ()
    who: Literal["technician", "lamp", "nobody", "lead", "qualified"] | None = None
    replaces: tuple[Name, ...] = ()
    cautions: tuple[str, ...] = ()
    hold: bool | None = None
    before: tuple[Name, ...] = ()
    source: str | None = None
