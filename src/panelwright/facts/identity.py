"""Ids of facts: UUID version 7, from a clock or from what a fact says.

References
----------
RFC 9562 (2024), Universally Unique IDentifiers, 5.7 and appendix A.6.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from uuid import UUID

from panelwright.facts.canonical import canonical

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
WHEN_NOT_SAID = datetime(2000, 1, 1, tzinfo=UTC)
"""The time of an imported fact whose file does not say when the repair was opened."""

_RANDOM_BITS = 74
_LAST_MILLISECOND = 2**48 - 1
_RANDOM_BYTES = 10


def milliseconds(moment: datetime) -> int:
    """Give the milliseconds since 1970; 0 before, and what fits 48 bits at most.

    Raises
    ------
    ValueError
        Where the moment has no offset from UTC.
    """
    if moment.tzinfo is None:
        raise ValueError(f"{moment.isoformat()} has no offset from UTC")
    count = (moment - EPOCH) // timedelta(milliseconds=1)
    return min(max(count, 0), _LAST_MILLISECOND)


def uuid7(moment: datetime, random: bytes) -> UUID:
    """Make a UUID version 7 of a moment and random bytes, which the caller supplies.

    Parameters
    ----------
    moment : datetime
        With offset from UTC.
    random : bytes
        At least 10 bytes; the first 74 bits are used.

    Returns
    -------
    UUID

    References
    ----------
    RFC 9562, 5.7.
    """
    if len(random) < _RANDOM_BYTES:
        raise ValueError(f"{len(random)} random bytes; at least {_RANDOM_BYTES} are needed")
    bits = int.from_bytes(random[:_RANDOM_BYTES]) >> (8 * _RANDOM_BYTES - _RANDOM_BITS)
    high, low = bits >> 62, bits & (2**62 - 1)
    value = milliseconds(moment) << 80 | 0x7 << 76 | high << 64 | 0b10 << 62 | low
    return UUID(int=value)


def moment_of(identity: UUID) -> datetime:
    """Give the moment that a UUID version 7 was made of, to the millisecond."""
    return EPOCH + timedelta(milliseconds=identity.int >> 80)


def is_uuid7(identity: UUID) -> bool:
    """Tell whether the id has the version and variant of a UUID version 7."""
    return identity.int >> 76 & 0xF == 0x7 and identity.int >> 62 & 0b11 == 0b10


def id_of_content(moment: datetime, *, kind: str, body: object, occurrence: int) -> UUID:
    """Make the id of an imported fact from what it says, so that it is the same every time.

    Parameters
    ----------
    moment : datetime
        When the repair was opened, with offset from UTC.
    kind : str
        The table.
    body : object
        The table as typed, of JSON's kinds.
    occurrence : int
        0 for the first table of this kind and body in the file, 1 for the second, and so on:
        a tape pulled twice with the same result is two readings.

    Returns
    -------
    UUID
    """
    digest = hashlib.sha256(canonical([kind, body, occurrence])).digest()
    return uuid7(moment, digest)
