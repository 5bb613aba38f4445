"""The repair file: TOML text in, a checked repair out."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from panelwright.errors import InvalidFile
from panelwright.facts.canonical import LARGEST_INTEGER
from panelwright.facts.check import check
from panelwright.facts.models.document import Document
from panelwright.facts.problem import Problem
from panelwright.facts.repair import Repair, repair_of
from panelwright.facts.toml_text import inline

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic_core import ErrorDetails

MOST_BYTES = 20_000_000
DEEPEST = 40

_LONG_KEY = re.compile(
    rf"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{DEEPEST}}}"""
)
"""Python's TOML reader takes time with the square of a key's parts: 100 kB would take a minute."""

_EXPECTED = {
    "extra_forbidden": "no such key; see `panelwright schema` for those there are",
    "missing": "missing",
    "float_type": "expected a number",
    "int_type": "expected a whole number",
    "string_type": "expected text",
    "bool_type": "expected true or false",
    "tuple_type": "expected a list",
    "model_type": "expected a table",
    "model_attributes_type": "expected a table",
    "finite_number": "expected a finite number",
}


def frozen_lists(value: Any, where: str = "file", depth: int = 0) -> Any:
    """The same data with tuples for lists, as the strict models expect them."""
    if depth > DEEPEST:
        raise InvalidFile([(where, f"tables are nested more than {DEEPEST} deep")])
    if isinstance(value, dict):
        start = "" if depth == 0 else f"{where}."
        return {k: frozen_lists(item, f"{start}{k}", depth + 1) for k, item in value.items()}
    if isinstance(value, list | tuple):
        return tuple(frozen_lists(v, f"{where}[{n}]", depth + 1) for n, v in enumerate(value))
    if isinstance(value, int) and abs(value) > LARGEST_INTEGER:
        raise InvalidFile(
            [(where or "file", "a whole number beyond 9007199254740991; write a smaller one")]
        )
    return value


def _place(location: tuple[int | str, ...], tags: frozenset[str]) -> str:
    text = ""
    for item in location:
        if isinstance(item, int):
            text += f"[{item}]"
        elif item not in tags:
            text += f".{item}" if text else item
    return text


_BRANCHES = frozenset({"AxisTolerance"})
"""Models among the alternatives for one key; their names say nothing to who wrote the file."""

_READING_TAGS = frozenset({"span", "compare", "height", "place", "station", "contact", "locator"})


def _where(error: ErrorDetails) -> str:
    location = error["loc"]
    if len(location) > 2 and location[0] == "reading" and location[2] in _READING_TAGS:
        location = (*location[:2], *location[3:])
    location = tuple(
        item
        for item in location
        if isinstance(item, int)
        or not (item in _BRANCHES or item.startswith(("function-", "tuple[", "lax-or")))
    )
    return _place(location, frozenset()) or "file"


def _shown(value: Any) -> str:
    """A value as it stands in the file, shortened."""
    text = inline(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _what(error: ErrorDetails) -> str:
    kind = error["type"]
    if kind == "missing":
        return "missing; it is required here"
    expected = _EXPECTED.get(kind)
    if expected is None:
        expected = error["msg"].removeprefix("Value error, ")
        if kind in {"value_error", "reading_kind", "quantity"}:
            return expected
        expected = expected[:1].lower() + expected[1:]
    return f"{_shown(error['input'])}: {expected}"


def document_from(data: Mapping[str, Any]) -> Document:
    """Validate the tables of a repair file.

    Parameters
    ----------
    data : mapping
        Tables as TOML gives them.

    Returns
    -------
    Document

    Raises
    ------
    InvalidFile
        With every table path, value and expectation that failed.
    """
    try:
        return Document.model_validate(frozen_lists(dict(data)))
    except ValidationError as error:
        problems = {
            (_where(detail), _what(detail)): None
            for detail in error.errors(include_url=False, include_context=False)
        }
        raise InvalidFile(list(problems)) from error


def tables_of(text: str) -> dict[str, Any]:
    """The tables of a TOML text, not yet validated; InvalidFile where it is not TOML."""
    if len(text) > MOST_BYTES:
        raise InvalidFile([("file", f"larger than {MOST_BYTES // 1_000_000} MB")])
    if _LONG_KEY.search(text):
        raise InvalidFile([("file", f"a key has more than {DEEPEST} parts between dots")])
    try:
        text.encode()  # half a surrogate pair can be neither written nor hashed
        return tomllib.loads(text.removeprefix("\ufeff"))  # a mark that some editors put first
    except UnicodeEncodeError as error:
        what = f"letter {error.start + 1} is half of one; save the file as UTF-8"
        raise InvalidFile([("file", what)]) from error
    except tomllib.TOMLDecodeError as error:
        raise InvalidFile([("file", f"this is not TOML: {error}")]) from error
    except RecursionError as error:
        raise InvalidFile([("file", "lists or tables are nested too deep")]) from error
    except ValueError as error:  # what Python says of a number of more than 4300 digits
        raise InvalidFile([("file", "a number has thousands of digits; shorten it")]) from error


def parse(text: str) -> Document:
    """Read TOML text into a document; InvalidFile with all its problems otherwise."""
    return document_from(tables_of(text))


def read(text: str) -> Repair:
    """Read a repair file.

    Parameters
    ----------
    text : str
        The TOML document.

    Returns
    -------
    Repair
        With `problems` for references, duplicates and cycles that do not fit together.

    Raises
    ------
    InvalidFile
        A table, key, unit or value that the models refuse.
    """
    document = parse(text)
    return repair_of(document, tuple(check(document)))


def problems_of(text: str) -> tuple[Problem, ...]:
    """Every problem of a repair file, whether it can be read or not."""
    try:
        return read(text).problems
    except InvalidFile as error:
        return tuple(Problem(where, what) for where, what in error.problems)
