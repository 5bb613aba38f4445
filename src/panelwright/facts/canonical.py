"""One way to write a value as bytes, so that a hash of it means something.

References
----------
RFC 8785 (2020), JSON Canonicalization Scheme.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from types import MappingProxyType

import rfc8785

LARGEST_INTEGER = 2**53 - 1
"""Beyond it JSON numbers lose digits (RFC 8785, 3.2.2.3 and I-JSON)."""

DEEPEST = 40


def canonical(value: object) -> bytes:
    """Give the RFC 8785 bytes of a value of JSON's kinds.

    Raises
    ------
    ValueError
        For NaN, infinities, whole numbers beyond 2^53 − 1, lone surrogates, keys that are no
        text, values of other kinds, and nesting deeper than `DEEPEST`.
    """
    return rfc8785.dumps(plain(value))  # type: ignore[arg-type]  # plain gives nothing else


def plain(value: object, depth: int = 0) -> dict[str, object] | list[object] | str | float | None:
    """Give the same value in dictionaries and lists."""
    if depth > DEEPEST:
        raise ValueError(f"nested more than {DEEPEST} deep")
    if isinstance(value, Mapping):
        return {_key(key): plain(item, depth + 1) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item, depth + 1) for item in value]
    if value is None or isinstance(value, str | bool | int | float):
        return value
    raise ValueError(f"a {type(value).__name__} is no value of JSON")


def _key(key: object) -> str:
    if not isinstance(key, str):
        raise ValueError(f"a key must be text, not a {type(key).__name__}")  # noqa: TRY004 - one kind of error
    return key


def frozen(value: object) -> object:
    """Give the same value so that nobody can change it: read-only mappings and tuples."""
    if isinstance(value, Mapping):
        return MappingProxyType({str(key): frozen(item) for key, item in value.items()})
    if isinstance(value, list | tuple):
        return tuple(frozen(item) for item in value)
    if value is None or isinstance(value, str | bool | int | float):
        return value
    raise ValueError(f"a {type(value).__name__} is no value of JSON")


def parsed(data: bytes) -> object:
    """Read JSON bytes; whole numbers beyond 2^53 − 1 are the floats that they were written from.

    Raises
    ------
    ValueError
        Where the bytes are not JSON.
    """
    try:
        return json.loads(data.decode("utf-8"), parse_int=_whole_number)
    except RecursionError as error:
        raise ValueError("nested too deep") from error


def _whole_number(digits: str) -> int | float:
    if len(digits) <= 17 and abs(int(digits)) <= LARGEST_INTEGER:
        return int(digits)
    return float(digits)


def settled(value: object) -> object:
    """Give the value as it is after a trip through its canonical bytes: 20.0 becomes 20."""
    return frozen(parsed(canonical(value)))
