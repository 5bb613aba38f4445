"""What every table shares: strictness, names, vectors and instants."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
    WithJsonSchema,
)

from panelwright.quantities import Duration, Length

LENGTH_SCHEMA = {
    "anyOf": [
        {"type": "string", "examples": ["820 mm", "12 3/8 in"]},
        {"type": "number", "description": "millimetres"},
    ]
}


class Table(BaseModel):
    """One table of the repair file; unknown keys, NaN and infinities are refused."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, ser_json_inf_nan="null"
    )


class Assumable(Table):
    """A table that a starting layout may propose; see `panelwright.facts.assumed`."""

    assumed: bool = False
    """True: a place to start from, never a home or a limit, until someone says it without this."""


def _positive(value: Any) -> Any:
    if value.exact <= 0:
        raise ValueError(f"{value.typed!r} is not more than zero")
    return value


def _not_negative(value: Any) -> Any:
    if value.exact < 0:
        raise ValueError(f"{value.typed!r} is less than zero")
    return value


PositiveLength = Annotated[Length, AfterValidator(_positive)]
NonNegativeLength = Annotated[Length, AfterValidator(_not_negative)]

Positive = AfterValidator(_positive)
NotNegative = AfterValidator(_not_negative)

PositiveDuration = Annotated[Duration, AfterValidator(_positive)]

Name = Annotated[str, Field(min_length=1, max_length=200)]
RepairName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,79}$")]


_FIRST_YEAR, _LAST_YEAR = 1971, 2200  # so that every zone and every wait stays within a calendar


def _instant(value: Any) -> Any:
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value)
        except ValueError as error:
            raise ValueError(
                f"{value!r} is not a date and time; write it as 2026-11-20T13:05:00+01:00"
            ) from error
    if isinstance(value, datetime) and value.tzinfo is None:
        raise ValueError(
            f"{value.isoformat()} has no offset from UTC; write it as {value.isoformat()}+01:00"
        )
    if isinstance(value, datetime):
        if not _FIRST_YEAR <= value.year <= _LAST_YEAR:
            raise ValueError(
                f"{value.isoformat()} is no time of a repair; "
                f"the year must be from {_FIRST_YEAR} to {_LAST_YEAR}"
            )
        if (value.utcoffset() or timedelta()) % timedelta(minutes=1):
            raise ValueError(
                f"{value.isoformat()}: the offset from UTC has whole minutes; write +01:00"
            )
    return value


Instant = Annotated[AwareDatetime, BeforeValidator(_instant)]


def _vector(value: tuple[float, float, float]) -> tuple[float, float, float]:
    size = math.hypot(*value)
    if not 1e-9 <= size <= 1e9:
        raise ValueError(f"{list(value)} has no direction; write one such as [1, 0, 0]")
    return (value[0] / size, value[1] / size, value[2] / size)


Direction = Annotated[tuple[float, float, float], AfterValidator(_vector)]
Position = tuple[Length, Length, Length]
Stretch = tuple[NonNegativeLength, NonNegativeLength]
"""From and to, along a joint."""


def _spread(value: Any) -> Length | Literal["free"]:
    if value == "free" and isinstance(value, str):
        return "free"
    try:
        length = Length.parse(value)
    except ValueError as error:
        raise ValueError(f'{error}, or "free"') from error
    return _not_negative(length)  # type: ignore[no-any-return]


def _spread_text(value: Length | Literal["free"]) -> str | int | float:
    return value if isinstance(value, str) else value.typed


Spread = Annotated[
    Length | Literal["free"],
    PlainValidator(_spread),
    PlainSerializer(_spread_text),
    WithJsonSchema({"anyOf": [*LENGTH_SCHEMA["anyOf"], {"const": "free"}]}),
]
"""Standard uncertainty of one axis: a length, 0 for fixed, or "free"."""


def millimetres(position: Position) -> tuple[float, float, float]:
    """A position as three numbers, mm."""
    x, y, z = position
    return (x.mm, y.mm, z.mm)
