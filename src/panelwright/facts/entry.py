"""A fact, and a fact in its place in the chain."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated
from uuid import UUID

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
)

from panelwright.errors import InvalidFile
from panelwright.facts.canonical import canonical, parsed, plain, settled
from panelwright.facts.identity import is_uuid7

BEFORE_THE_FIRST = "0" * 64
"""What the first entry of a log has for the hash of the one before."""

_A_YEAR_S = 366 * 86_400


def _version_7(identity: UUID) -> UUID:
    if not is_uuid7(identity):
        raise ValueError(f"{identity} is no UUID version 7")
    return identity


def _whole_minutes(moment: datetime) -> datetime:
    offset = moment.utcoffset()
    if offset is not None and offset % timedelta(minutes=1):
        raise ValueError(f"{moment.isoformat()}: the offset from UTC must be in whole minutes")
    return moment


def _settled_body(body: object) -> object:
    if not isinstance(body, Mapping):
        raise ValueError("the body of a fact is a table")  # noqa: TRY004 - Pydantic wants this one
    return settled(body)


Moment = Annotated[AwareDatetime, AfterValidator(_whole_minutes)]
Body = Annotated[Mapping[str, object], PlainValidator(_settled_body), PlainSerializer(plain)]


class Fact(BaseModel):
    """What one person said at one time; never changed, at most withdrawn by another fact.

    Attributes
    ----------
    id : UUID
        Version 7, made where the fact was typed.
    kind, version : str, int
        Which table it is, and by which edition of that table's rules it was written.
    body : mapping
        The table as typed, in JSON's kinds; moments and days are RFC 3339 text. Read-only.
    observed_at : datetime
        By the clock of the device.
    clock_offset_s : float
        How far the device's clock was ahead of the recorder's, [s].
    recorded_at : datetime
        When it entered the log, by the recorder's clock.
    person : str
        Who said it. Whether that person may is decided before the fact enters the log.
    """

    model_config = ConfigDict(
        frozen=True,
        strict=True,
        extra="forbid",
        allow_inf_nan=False,
    )

    id: Annotated[UUID, AfterValidator(_version_7)]
    kind: Annotated[str, Field(pattern=r"^[a-z][a-z-]{0,39}$")]
    version: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    body: Body
    observed_at: Moment
    clock_offset_s: Annotated[float, Field(ge=-_A_YEAR_S, le=_A_YEAR_S)] = 0.0
    recorded_at: Moment
    person: Annotated[str, Field(min_length=1, max_length=200)]

    @property
    def happened_s(self) -> float:
        """Give the moment of observation corrected by the clock offset, seconds since 1970."""
        return self.observed_at.timestamp() - self.clock_offset_s

    def says_the_same(self, other: Fact) -> bool:
        """Tell whether two facts say the same, whoever said it and whenever."""
        return (self.kind, self.version, self.body) == (other.kind, other.version, other.body)


@dataclass(frozen=True)
class Entry:
    """A fact with the hash of the entry before it and its own, in hexadecimal digits."""

    fact: Fact
    previous: str
    hash: str


def written(fact: Fact) -> dict[str, object]:
    """Give a fact in JSON's kinds."""
    return {
        "id": str(fact.id),
        "kind": fact.kind,
        "version": fact.version,
        "body": plain(fact.body),
        "observed_at": fact.observed_at.isoformat(),
        "clock_offset_s": fact.clock_offset_s,
        "recorded_at": fact.recorded_at.isoformat(),
        "person": fact.person,
    }


def hash_of(fact: Fact, previous: str) -> str:
    """Give SHA-256 over the canonical JSON of a fact and the hash before it."""
    return hashlib.sha256(canonical({"fact": written(fact), "previous": previous})).hexdigest()


def entry_after(previous: str, fact: Fact) -> Entry:
    """Put a fact behind the entry with the hash `previous`."""
    return Entry(fact, previous, hash_of(fact, previous))


def entry_bytes(entry: Entry) -> bytes:
    """Give the canonical JSON of an entry: what is stored, and never rewritten."""
    return canonical({"fact": written(entry.fact), "previous": entry.previous, "hash": entry.hash})


def _fact_from(data: object) -> Fact:
    if not isinstance(data, dict):
        raise ValueError("no fact in it")  # noqa: TRY004 - one kind of error for one caller
    moments = {key: datetime.fromisoformat(data[key]) for key in ("observed_at", "recorded_at")}
    return Fact.model_validate({**data, **moments, "id": UUID(data["id"])})


def entry_from(data: bytes) -> Entry:
    """Read an entry from the bytes that `entry_bytes` made.

    Raises
    ------
    InvalidFile
        Where they are any other bytes: a space more is a change.
    """
    try:
        table = parsed(data)
        if not isinstance(table, dict):
            raise ValueError("no table")  # noqa: TRY004, TRY301 - told below with all the others
        entry = Entry(_fact_from(table["fact"]), str(table["previous"]), str(table["hash"]))
        same = entry_bytes(entry) == data
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError) as error:
        raise InvalidFile([("entry", f"this is no entry of a log: {error}")]) from error
    if not same:
        raise InvalidFile([("entry", "these are not the bytes that were written: changed since")])
    return entry
