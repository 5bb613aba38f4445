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
    aside: str = ""
    """Set small at the right end."""


@dataclass(frozen=True)
class Paragraph:
    """A paragraph."""

    said: Said
    size: Size = Size.NORMAL


@dataclass(frozen=True)
class Bullets:
    """A list without numbers, in one or more columns."""

    items: tuple[Said, ...]
    columns: int = 1


@dataclass(frozen=True)
class RunIn:
    """Several short texts in one paragraph, parted by dots; `lead` stands before them."""

    items: tuple[Said, ...]
    lead: Said | None = None
    size: Size = Size.NORMAL


@dataclass(frozen=True)
class Box:
    """A framed box with a title and lines."""

    purpose: BoxKind
    title: str
    items: tuple[Said, ...]
    detail: Said | None = None
    """Set small under the lines."""
    columns: int = 1


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
    """A table whose head is repeated on every page; `tight` where its rows are short and many."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    tight: bool = False


@dataclass(frozen=True)
class Figure:
    """A drawing; `width_mm` fixes its width on paper, left out it is fitted to the page."""

    svg: str
    caption: Said
    width_mm: float | None = None
    height_mm: float | None = None
    alt: str = ""


@dataclass(frozen=True)
class Named:
    """A short name and what it stands for."""

    name: str
    said: Said


@dataclass(frozen=True)
class Legend:
    """Short names that the pages use, with the sentence that each stands for."""

    title: str
    items: tuple[Named, ...]
    columns: int = 2


@dataclass(frozen=True)
class TickItem:
    """One thing to tick off: how much, of what, and small words beside it."""

    amount: Said
    what: Said
    note: Said


@dataclass(frozen=True)
class TickList:
    """Things to tick off, in columns."""

    items: tuple[TickItem, ...]
    columns: int = 2


class Act(StrEnum):
    """What a line of the step list asks for."""

    WORK = "work"
    """A box to tick."""
    HOLD = "hold"
    """A name and a time to sign; nothing goes on before."""
    WAIT = "wait"
    """Nobody works: nothing to tick."""
    DONE = "done"
    """A run of steps of which no more is to be said."""


@dataclass(frozen=True)
class StepItem:
    """One step in its line: its number, planned start, and what tells it from its fellows."""

    number: int
    at: str
    what: str = ""
    done: bool = False
    record: str = ""
    """Who did or signed it and when, where that is recorded."""


@dataclass(frozen=True)
class StepLine:
    """One step, or several of one act that follow each other."""

    act: Act
    run: str
    """Its numbers, such as "19–21"."""
    items: tuple[StepItem, ...]
    name: Said
    detail: Said
    by: str
    cautions: tuple[str, ...]
    """Names of the cautions; the legend has their sentences."""


@dataclass(frozen=True)
class StepDay:
    """The day on which the lines below it begin."""

    day: str


@dataclass(frozen=True)
class StepList:
    """Steps in order, in columns over as many pages as it takes."""

    entries: tuple[StepDay | StepLine, ...]


@dataclass(frozen=True)
class SignOff:
    """A line to sign: what for, and the box, name and time beside it."""

    what: tuple[str, ...]


@dataclass(frozen=True)
class Owed:
    """Something that is still owed, with a place for its owner's name."""

    run: str
    when: str
    what: Said
    owner: str
    cautions: tuple[str, ...] = ()
    hold: bool = False
    done: bool = False
    record: str = ""
    items: tuple[StepItem, ...] = ()
    """The single steps, where one line stands for several."""


@dataclass(frozen=True)
class OwedList:
    """What is owed, each with an owner, a box, a name and a date."""

    items: tuple[Owed, ...]


@dataclass(frozen=True)
class Beside:
    """Blocks on the left and on the right; `share` of the width goes left, 0: what it needs."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.5


@dataclass(frozen=True)
class Together:
    """Blocks that stay on one page."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Pairs:
    """Groups of blocks, two side by side in a row."""

    groups: tuple[tuple[Block, ...], ...]


Block: TypeAlias = (
    "Heading | Paragraph | RunIn | Bullets | Box | Cards | Table | Figure | Legend | TickList"
    " | StepList | SignOff | OwedList | Together | Beside | Pairs"
)


@dataclass(frozen=True)
class Section:
    """One subject of the job file; `fresh` starts a new page, the others flow."""

    title: str
    blocks: tuple[Block, ...]
    fresh: bool = False
    lead: str = ""
    """One sentence under the title."""
    after: Said | None = None
    """What follows it, with its own tone and sources."""


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
