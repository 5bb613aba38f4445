"""What a page of the job file is put together from.

Every text in a block is data: it reaches the typesetter as a string and is never read as markup.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from panelwright.sources import Source


class Tone(StrEnum):
    """How a text is set apart; tone never speaks alone, a word or a shape says the same."""

    PLAIN = "plain"
    OK = "ok"
    NOT_OK = "not-ok"
    OPEN = "open"
    QUIET = "quiet"


class BoxKind(StrEnum):
    """What a framed box is for."""

    NEXT = "next"
    SAFETY = "safety"
    CAUTION = "caution"
    MISSING = "missing"
    INFO = "info"


class Size(StrEnum):
    """How large a paragraph is set."""

    SMALL = "small"
    NORMAL = "normal"
    LEAD = "lead"


class Align(StrEnum):
    """Where a column's text stands."""

    LEFT = "left"
    RIGHT = "right"
    CENTRE = "center"


@dataclass(frozen=True)
class Said:
    """A text with the sources that it stands on; `tone` OK, NOT_OK and OPEN draw a shape."""

    text: str
    sources: tuple[Source, ...] = ()
    strong: bool = False
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True)
class Heading:
    """A heading inside a section."""

    text: str
    after: Said | None = None
    """Set small beside it."""


@dataclass(frozen=True)
class Paragraph:
    """A paragraph."""

    said: Said
    size: Size = Size.NORMAL


@dataclass(frozen=True)
class Bullets:
    """A list without numbers."""

    items: tuple[Said, ...]


@dataclass(frozen=True)
class Box:
    """A framed box with a title and lines."""

    purpose: BoxKind
    title: str
    items: tuple[Said, ...]
    detail: Said | None = None
    """Set small under the lines."""


@dataclass(frozen=True)
class Card:
    """One figure that is read from afar."""

    label: str
    value: Said
    detail: Said | None = None


@dataclass(frozen=True)
class Cards:
    """Figures side by side; `large` for the cover."""

    cards: tuple[Card, ...]
    columns: int = 3
    large: bool = False


@dataclass(frozen=True)
class Column:
    """A column of a table; `share` 0 takes what its text needs, else a share of the rest."""

    title: str
    share: float = 0.0
    align: Align = Align.LEFT


@dataclass(frozen=True)
class Row:
    """A row of a table; `strong` underlays it."""

    cells: tuple[Said, ...]
    strong: bool = False


@dataclass(frozen=True)
class Table:
    """A table whose head is repeated on every page."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class CheckItem:
    """One check: its state in a word and a shape, and what was held against what."""

    state: Said
    said: Said


@dataclass(frozen=True)
class CheckList:
    """Checks side by side in narrow lines."""

    items: tuple[CheckItem, ...]
    columns: int = 2


@dataclass(frozen=True)
class Figure:
    """A drawing; `width_mm` fixes its width on paper, left out it is fitted to the page."""

    svg: str
    caption: Said
    width_mm: float | None = None
    height_mm: float | None = None
    alt: str = ""


@dataclass(frozen=True)
class StepLine:
    """One step with its cautions and a place to sign."""

    number: int
    when: str
    by: str
    name: Said
    detail: Said
    cautions: tuple[str, ...]
    hold: bool
    done: bool
    wait: bool = False
    """Nobody works: nothing to sign."""
    signed: str = ""
    """Who signed it and when, where that is recorded."""


@dataclass(frozen=True)
class StepList:
    """Steps in order."""

    steps: tuple[StepLine, ...]


@dataclass(frozen=True)
class SignOff:
    """A line to sign: what for, and the box, name and time beside it."""

    what: tuple[str, ...]


@dataclass(frozen=True)
class Owed:
    """Something that is still owed, with a line for its owner."""

    what: Said
    owner: str


@dataclass(frozen=True)
class OwedList:
    """What is owed, each with an owner, a box and a date."""

    items: tuple[Owed, ...]


@dataclass(frozen=True)
class Together:
    """Blocks that stay on one page."""

    blocks: tuple[Block, ...]


Block: TypeAlias = (
    "Heading | Paragraph | Bullets | Box | Cards | CheckList | Table | Figure | StepList"
    " | SignOff | OwedList | Together"
)


@dataclass(frozen=True)
class Section:
    """One subject of the job file; `fresh` starts a new page."""

    title: str
    blocks: tuple[Block, ...]
    fresh: bool = False
    lead: str = ""
    """One sentence under the title."""


@dataclass(frozen=True)
class Cover:
    """The first page: one look must be enough."""

    name: str
    vehicle: str
    procedure: Said
    opened: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Document:
    """The whole job file before it is set."""

    title: str
    running: str
    """Repair and vehicle, in the head of every page."""
    as_of: str
    log_head: str
    invented: bool
    cover: Cover
    sections: tuple[Section, ...]
