from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, ValidationError

from panelwright.errors import QuantityError
from panelwright.quantities import Area, Duration, Force, Length, Quantity, Stress, Temperature

KINDS = [Length, Temperature, Duration, Force, Stress, Area]


class Flange(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True, allow_inf_nan=False, extra="forbid")

    width: Length
    gaps: tuple[Length, ...] = ()
    strength: Force | None = None


@pytest.mark.invariant
@pytest.mark.parametrize("width", ["12 3/8 in", 18, 18.5, "18 mm"])
def test_a_field_gives_back_what_was_typed(width: str | float) -> None:
    flange = Flange.model_validate({"width": width, "gaps": (1, "2 mm")})
    assert flange.model_dump(exclude_unset=True) == {"width": width, "gaps": (1, "2 mm")}
    assert Flange.model_validate_json(flange.model_dump_json()) == flange
    assert type(flange.model_dump()["width"]) is type(width)


@pytest.mark.exact
def test_a_field_takes_a_quantity_as_it_is() -> None:
    width = Length.parse("18 mm")
    assert Flange(width=width).width is width


@pytest.mark.exact
def test_a_refused_field_says_where_and_how_to_write_it() -> None:
    with pytest.raises(ValidationError) as refused:
        Flange.model_validate({"width": "18", "gaps": (True,), "strength": "5 {kg}"})
    found = {error["loc"]: error["msg"] for error in refused.value.errors()}
    assert found[("width",)].startswith('"18": the unit of 18 is missing')
    assert found[("gaps", 0)].startswith("True: this is neither a text nor a number")
    assert "is no unit of force" in found[("strength",)]


@pytest.mark.exact
def test_the_schema_offers_text_or_number_with_its_unit() -> None:
    properties = Flange.model_json_schema()["properties"]
    text, number = properties["width"]["anyOf"]
    assert text["type"] == "string"
    assert "12 3/8 in" in text["examples"]
    assert number == {"type": "number", "description": "length in mm"}
    assert "kN" in str(properties["strength"])


@pytest.mark.invariant
@pytest.mark.parametrize("kind", KINDS)
@given(typed=st.text("0123456789 ./-'\"′″⅜½²°mcinftMPaNklbfhsWFC", max_size=20))
def test_the_schema_pattern_lets_through_whatever_is_read(kind: type[Quantity], typed: str) -> None:
    try:
        kind.parse(typed)
    except QuantityError:
        return
    assert re.search(kind.grammar.schema_pattern, typed)


@pytest.mark.exact
@pytest.mark.parametrize("typed", ["12", "1,834 mm", "1'234", "12 kg", "", "mm", "12 3/8"])
def test_the_schema_pattern_stops_the_common_slips(typed: str) -> None:
    assert not re.search(Length.grammar.schema_pattern, typed)


@pytest.mark.exact
@pytest.mark.parametrize(
    "typed", ["12 3/8 in", "12⅜ in", "3′ 2 ½″", "3' 2 1/2\"", "1 m 834 mm", "-5 mm", "−5 mm", "3''"]
)
def test_the_schema_pattern_lets_tape_readings_through(typed: str) -> None:
    assert re.search(Length.grammar.schema_pattern, typed)
