"""The repair file as people write it: one key a line, small tables within a line."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import tomli_w

_LONGEST_LINE = 100


def toml_text(data: Mapping[str, object]) -> str:
    """Give TOML text of the tables of a repair file.

    Values at the top come first, then each table under its own heading; tables within tables
    are written in one line, lists of tables one a line.
    """
    plain = {key: value for key, value in data.items() if not _is_tables(value)}
    blocks = [_lines(plain)] if plain else []
    for key, value in data.items():
        if isinstance(value, Mapping):
            blocks.append(f"[{_key(key)}]\n{_lines(value)}")
        elif _is_tables(value) and isinstance(value, list | tuple):
            blocks += [f"[[{_key(key)}]]\n{_lines(table)}" for table in value]
    return "\n".join(blocks)


def _is_tables(value: object) -> bool:
    if isinstance(value, list | tuple):
        return bool(value) and all(isinstance(item, Mapping) for item in value)
    return isinstance(value, Mapping)


def _lines(table: Mapping[str, object]) -> str:
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in table.items())


def _key(key: str) -> str:
    return tomli_w.dumps({key: 0}).removesuffix(" = 0\n")


def _value(value: object) -> str:
    """Give a value of a line; a list that is too long for it has one item a line."""
    words = inline(value)
    if not isinstance(value, list | tuple) or len(words) <= _LONGEST_LINE:
        return words
    return "[\n" + "".join(f"  {inline(item)},\n" for item in value) + "]"


def inline(value: object) -> str:
    """Give any value as it stands in one line of a file.

    Examples
    --------
    >>> inline({"at": ("30 mm", 80), "adhesive": True})
    '{ at = ["30 mm", 80], adhesive = true }'
    """
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{_key(key)} = {inline(item)}" for key, item in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(inline(item) for item in value)}]"
    if isinstance(value, datetime):
        return value.isoformat()
    if value is None:
        return "nothing"  # TOML has no word for it; only messages come here with it
    return tomli_w.dumps({"x": value}).removeprefix("x = ").removesuffix("\n")
