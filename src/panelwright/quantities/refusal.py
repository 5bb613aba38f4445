"""What is wrong with a text that is no quantity, and how to write it, in words."""

from __future__ import annotations

import re

from panelwright.errors import QuantityError
from panelwright.quantities.grammar import Grammar

_SHOWN_LETTERS = 40
_GROUPED = re.compile(r"([0-9]{1,3}(?:[,' _][0-9]{3})+)(\.[0-9]+)?(?![0-9])")
_COMMA = re.compile(r"([0-9]*),([0-9]+)")


def shown(typed: object) -> str:
    """Give what was typed in quotes, shortened, without line breaks."""
    if not isinstance(typed, str):
        words = type(typed).__name__ if isinstance(typed, list | dict | tuple) else None
        return words or _shortened(_safe_text(typed))
    printable = "".join(c if c.isprintable() else "�" for c in typed[: 2 * _SHOWN_LETTERS])
    return f'"{_shortened(printable)}"'


def _safe_text(typed: object) -> str:
    """Give a text of any value; a whole number of thousands of digits has none."""
    try:
        return str(typed)
    except ValueError:
        return "a number of thousands of digits"


def _shortened(words: str) -> str:
    return words if len(words) <= _SHOWN_LETTERS else words[:_SHOWN_LETTERS] + "…"


def refusal(typed: object, grammar: Grammar, why: str, write: str | None = None) -> QuantityError:
    """Make the error: the value, what is wrong, what was expected, how to write it."""
    article = "an" if grammar.noun[0] in "aeiou" else "a"
    expected = f"expected {article} {grammar.noun} with unit, or a number in {grammar.bare.symbol}"
    instruction = write or grammar.how_to_write
    return QuantityError(f"{shown(typed)}: {why}; {expected}; write {instruction}")


def why_unreadable(body: str, grammar: Grammar) -> tuple[str, str | None]:
    """Say why the text is not understood, and how it is written if that can be guessed."""
    return (
        _grouped(body, grammar)
        or _decimal_comma(body, grammar)
        or _no_unit(body, grammar)
        or _unknown_unit(body, grammar)
        or ("this is not understood", None)
    )


def why_out_of_order(
    body: str, grammar: Grammar, *, larger: str, smaller: str
) -> tuple[str, str | None]:
    """Say why one unit cannot follow the other; 1'234 mm was meant as thousands, not as feet."""
    return _grouped(body, grammar) or (f"{smaller} cannot follow {larger}", None)


def _with_unit(text: str, grammar: Grammar) -> str:
    """Give the text in quotes, with the bare unit where it has none."""
    bare = re.fullmatch(r"[0-9 .,/+-]*", text)
    return f'"{text} {grammar.bare.symbol}"' if bare else f'"{text}"'


def _grouped(body: str, grammar: Grammar) -> tuple[str, str] | None:
    """Find digits in groups of three: 1,834 mm, 1'234, 1 834 mm."""
    found = _GROUPED.search(body)
    if found is None:
        return None
    before, rest = body[: found.start()], body[found.end() :]
    joined = re.sub("[,' _]", "", found[1]) + (found[2] or "")
    write = f"{_with_unit(before + joined + rest, grammar)} (digits without separator)"
    if found[2] is None and found[1].count(",") == 1:
        point = before + found[1].replace(",", ".") + rest
        write += f" or {_with_unit(point, grammar)} (decimal point)"
    return f"{found[1]} may mean thousands or a decimal", write


def _decimal_comma(body: str, grammar: Grammar) -> tuple[str, str] | None:
    """Find a decimal comma: 315,5 mm."""
    if _COMMA.search(body) is None:
        return None
    point = _with_unit(_COMMA.sub(r"\1.\2", body), grammar)
    return "a comma may mean thousands or a decimal", f"{point} (decimal point)"


def _no_unit(body: str, grammar: Grammar) -> tuple[str, str | None] | None:
    """Find a number without unit, alone or behind others: 12, 1 h 20."""
    if re.fullmatch(r"[+-]? *([0-9]+(\.[0-9]+)?|[0-9]*[ -]?[0-9]+/[0-9]+)", body):
        ways = " or ".join(f'"{body} {unit.symbol}"' for unit in grammar.units[:4])
        return f"the unit of {body} is missing", ways
    if found := re.search(r"[A-Za-z'\"°] *([0-9]+(?:\.[0-9]+)?)$", body):
        return f"the unit of {found[1]} is missing", None
    return None


def _unknown_unit(body: str, grammar: Grammar) -> tuple[str, str | None] | None:
    """Find a number with a word that is no unit of this quantity."""
    found = re.search(r"[0-9] *([^0-9 .,/-][^0-9 ]{0,11})", body)
    if found is None or found[1] in grammar.by_spelling:
        return None
    known = ", ".join(unit.symbol for unit in grammar.units)
    return f'"{found[1]}" is no unit of {grammar.noun} here ({known})', None
