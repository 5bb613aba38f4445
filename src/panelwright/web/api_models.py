"""What goes into and comes out of the JSON interface."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, JsonValue

from panelwright.facts.models.base import RepairName

MOST_FACTS = 2000
"""In one request."""


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class FactIn(_Model):
    """A fact as a client says it; the same id sent twice is stored once."""

    id: UUID
    """Version 7, made by the client."""
    kind: Annotated[str, Field(pattern=r"^[a-z][a-z-]{0,39}$")]
    """A table of the repair file, or `withdrawn` with `id` and `reason` in its body."""
    version: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    body: dict[str, JsonValue]
    """The table as typed; moments and days are RFC 3339 text."""
    observed_at: AwareDatetime
    """By the clock of the client."""
    clock_offset_s: Annotated[float, Field(ge=-31_622_400, le=31_622_400)] = 0.0
    """How far the client's clock is ahead of the server's."""
    person: Annotated[str, Field(min_length=1, max_length=200)]


class FactsIn(_Model):
    """Facts to append, in this order."""

    facts: Annotated[list[FactIn], Field(min_length=1, max_length=MOST_FACTS)]


class StartIn(_Model):
    """A new repair with its first facts."""

    name: RepairName
    facts: Annotated[list[FactIn], Field(min_length=1, max_length=MOST_FACTS)]


class AppendedOut(_Model):
    """What was stored; by the time of the answer it is on the disk."""

    log_head: str
    numbers: list[int]
    """Place in the log of each fact given, from 0."""
    added: int
    """How many were not there already."""
    seq: int
    """Global number of the last fact stored."""


class ListedOut(_Model):
    """A stored repair."""

    name: str
    created_at: datetime
    facts: int
    head: str | None
    last_seq: int
    recorded_at: datetime | None


class RepairsOut(_Model):
    """All stored repairs."""

    repairs: list[ListedOut]


class ProblemOut(_Model):
    """Something that does not fit, and where."""

    where: str
    what: str


class ProblemsOut(_Model):
    """What is wrong with what was sent or asked."""

    problems: list[ProblemOut]


class UnansweredOut(_Model):
    """Why a question cannot be answered from this repair."""

    unanswered: list[str]


class MakingOut(_Model):
    """The answer is being made; ask again, or wait for `answer` on `/events`."""

    making: bool = True


class RepairOut(_Model):
    """A repair as its log tells it now."""

    name: str
    head: str
    facts: int
    problems: list[ProblemOut]
    document: dict[str, JsonValue]
    """The tables of the repair file, in JSON's kinds."""


class EntryOut(_Model):
    """An entry of a log."""

    number: int
    fact: dict[str, JsonValue]
    previous: str
    hash: str
    withdrawn: bool


class LogOut(_Model):
    """Entries of a log, oldest first."""

    head: str
    entries: list[EntryOut]


class PhotoOut(_Model):
    """A stored photo; a fact of the kind `photo` shows it by its `sha256`."""

    sha256: str
    media: str
    width: int
    height: int
    size: int
    added_at: datetime
