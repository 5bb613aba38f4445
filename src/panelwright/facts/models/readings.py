"""Readings: what was measured, told apart by the keys they carry."""

from __future__ import annotations

from collections.abc import Container
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from panelwright.facts.models.base import Instant, Name, NonNegativeLength, Position, Table
from panelwright.quantities import Length, Temperature

Edge = Literal["near", "centre", "far"]
GapWord = Literal["tight", "ok", "wide"]
FlushWord = Literal["low", "ok", "high"]


class _Reading(Table):
    """What any reading may carry."""

    id: Name | None = None
    by: str | None = None
    at: Instant | None = None
    with_: Annotated[Name | None, Field(alias="with")] = None
    u: NonNegativeLength | None = None
    """Replaces the tool's own seating and reading uncertainty."""
    when: Literal["before", "now", "sister"] = "now"
    """Before the old part came off, now, or on a sound sister vehicle."""
    setting: Annotated[int, Field(ge=1)] | None = None
    temperature: Temperature | None = None
    """Of the metal, where it was not near 20 °C; counts for spans."""
    tool_temperature: Temperature | None = None
    """Of the tape or tram; left out: that of the air in the bay."""
    note: str | None = None


class SpanReading(_Reading):
    """A distance between two points."""

    from_: Name = Field(alias="from")
    to: Name
    value: Length
    from_edge: Edge | None = None
    """Edge of the hole that was read from: the one near to the other point, or far from it."""
    to_edge: Edge | None = None
    pointers: tuple[NonNegativeLength, NonNegativeLength] | None = None
    """With a tram that is held parallel: lengths of the pointers at from and at to."""


class CompareReading(_Reading):
    """Side against side: span a–b less span c–d."""

    compare: tuple[tuple[Name, Name], tuple[Name, Name]]
    difference: Length


class HeightReading(_Reading):
    """A point's height above z = 0."""

    point: Name
    height: Length


class PlaceReading(_Reading):
    """A point's three coordinates."""

    point: Name
    xyz: Position


def _word_or_length(words: tuple[str, ...]) -> Any:
    from pydantic import PlainSerializer, PlainValidator, WithJsonSchema  # noqa: PLC0415

    from panelwright.facts.models.base import LENGTH_SCHEMA  # noqa: PLC0415

    def read(value: Any) -> Any:
        if isinstance(value, str) and value in words:
            return value
        try:
            return Length.parse(value)
        except ValueError as error:
            spoken = ", ".join(f'"{word}"' for word in words)
            raise ValueError(f"{error}, or one of {spoken}") from error

    return (
        PlainValidator(read),
        PlainSerializer(lambda value: value if isinstance(value, str) else value.typed),
        WithJsonSchema({"anyOf": [*LENGTH_SCHEMA["anyOf"], {"enum": list(words)}]}),
    )


_GAP = _word_or_length(("tight", "ok", "wide"))
_FLUSH = _word_or_length(("low", "ok", "high"))


class StationReading(_Reading):
    """Gap and flush at a station, in numbers or in words."""

    station: Name
    gap: Annotated[Length | GapWord, _GAP[0], _GAP[1], _GAP[2]] | None = None
    flush: Annotated[Length | FlushWord, _FLUSH[0], _FLUSH[1], _FLUSH[2]] | None = None


class ContactReading(_Reading):
    """Whether the part lies against its neighbour."""

    contact: Name
    state: Literal["seated", "open", "forced"]
    lift: Length | None = None


class LocatorReading(_Reading):
    """Whether a pin or hole lines up."""

    locator: Name
    state: Literal["aligned", "off"]
    off: tuple[Length, Length] | None = None
    """Along and across: along the slot, or in a round hole along the axis of the vehicle that lies
    flattest to the hole; across is axis × along."""


_TAGS = (
    ("compare", "compare"),
    ("station", "station"),
    ("contact", "contact"),
    ("locator", "locator"),
    ("height", "height"),
    ("point", "place"),
    ("from", "span"),
    ("to", "span"),
    ("from_", "span"),
)


def _kind(value: Any) -> str | None:
    if isinstance(value, dict):
        return _tag_of(value)
    return _tag_of_model(type(value)) if isinstance(value, _Reading) else None


def _tag_of(keys: Container[str]) -> str | None:
    return next((tag for key, tag in _TAGS if key in keys), None)


@cache
def _tag_of_model(model: type[_Reading]) -> str | None:
    return _tag_of(model.model_fields)


Reading = Annotated[
    Annotated[SpanReading, Tag("span")]
    | Annotated[CompareReading, Tag("compare")]
    | Annotated[HeightReading, Tag("height")]
    | Annotated[PlaceReading, Tag("place")]
    | Annotated[StationReading, Tag("station")]
    | Annotated[ContactReading, Tag("contact")]
    | Annotated[LocatorReading, Tag("locator")],
    Discriminator(
        _kind,
        custom_error_type="reading_kind",
        custom_error_message=(
            "a reading needs from, to and value; or compare and difference; or point with height "
            "or xyz; or station with gap or flush; or contact with state; or locator with state"
        ),
    ),
]
