"""What all quantities share: the value, what was typed, and their place in a Pydantic model."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, ClassVar, Self

from pydantic_core import PydanticCustomError, core_schema

from panelwright.errors import QuantityError
from panelwright.quantities.grammar import Grammar
from panelwright.quantities.reading import read

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue


@dataclass(frozen=True, order=True)
class Quantity:
    """An exact value in the base unit of its kind, with the text or number as typed.

    Two quantities are equal where their values are: 1 in equals 25.4 mm.
    """

    exact: Fraction
    typed: str | int | float = field(compare=False)

    grammar: ClassVar[Grammar]

    @classmethod
    def parse(cls, typed: object) -> Self:
        """Read a text with unit, or a number in the bare unit of the kind.

        Raises
        ------
        QuantityError
            In words: the value, what was expected, how to write it.
        """
        exact = read(typed, cls.grammar)
        return cls(exact, typed)  # type: ignore[arg-type]  # read refuses every other type

    @classmethod
    def __get_pydantic_core_schema__(
        cls, _source: type[Self], _handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(
            cls._validated,
            serialization=core_schema.plain_serializer_function_ser_schema(_as_typed),
        )

    @classmethod
    def __get_pydantic_json_schema__(
        cls, _schema: core_schema.CoreSchema, _handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        grammar = cls.grammar
        text = {
            "type": "string",
            "pattern": grammar.schema_pattern,
            "examples": list(grammar.examples),
            "description": f"{grammar.noun} with unit",
        }
        number = {"type": "number", "description": f"{grammar.noun} in {grammar.bare.symbol}"}
        return {"anyOf": [text, number]}

    @classmethod
    def _validated(cls, typed: object) -> Self:
        if isinstance(typed, cls):
            return typed
        try:
            return cls.parse(typed)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{words}", {"words": str(error)}) from error


def _as_typed(quantity: Quantity) -> str | int | float:
    return quantity.typed
