"""From what was typed to an exact value in the base unit."""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction
from itertools import pairwise

from panelwright.quantities.grammar import LARGEST, MOST_LETTERS, Grammar
from panelwright.quantities.refusal import refusal, why_out_of_order, why_unreadable
from panelwright.quantities.units import Unit

_SAME = str.maketrans(
    {
        "′": "'",
        "’": "'",
        "″": '"',
        "”": '"',
        "⁄": "/",
        "−": "-",
        "\u00a0": " ",
        "\u2007": " ",
        "\u2009": " ",
        "\u202f": " ",
        "\t": " ",
        "º": "°",
    }
)


def _spelled_out(letter: str) -> str:
    """Give ⅜ as `` 3/8 ``, apart from digits beside it, and every other letter as it is."""
    if not unicodedata.decomposition(letter).startswith("<fraction>"):
        return letter
    parts = re.fullmatch("([0-9]+)⁄([0-9]+)", unicodedata.normalize("NFKC", letter))
    return f" {parts[1]}/{parts[2]} " if parts else letter


def normal_text(text: str) -> str:
    """Give the text with one sign for each of the many that mean the same."""
    return "".join(_spelled_out(letter) for letter in text.translate(_SAME)).strip(" ")


def _number(found: re.Match[str], text: str, grammar: Grammar) -> Fraction:
    """Give the number of one component."""
    if (decimal := found["decimal"]) is not None:
        return Fraction(decimal)
    top, bottom = found["top"] or found["only_top"], found["bottom"] or found["only_bottom"]
    if int(bottom) == 0:
        raise refusal(text, grammar, f"{top}/{bottom} divides by zero")
    fraction = Fraction(int(top), int(bottom))
    if found["whole"] is None:
        return fraction
    if fraction >= 1:
        raise refusal(text, grammar, f"after a whole number, {top}/{bottom} must be below 1")
    return int(found["whole"]) + fraction


def _components(body: str, text: str, grammar: Grammar) -> list[tuple[Fraction, Unit]]:
    """Give each number with its unit, in the order typed."""
    found: list[tuple[Fraction, Unit]] = []
    place = 0
    while place < len(body):
        component = grammar.component.match(body, place)
        if component is None:
            raise refusal(text, grammar, *why_unreadable(normal_text(text), grammar))
        unit = grammar.by_spelling[component["unit"]]
        found.append((_number(component, text, grammar), unit))
        place = component.end()
    return found


def _sum_up(parts: list[tuple[Fraction, Unit]], text: str, grammar: Grammar) -> Fraction:
    """Add the components of ``3 ft 2 1/2 in``, each smaller than one of the unit before it."""
    for (before, larger), (number, smaller) in pairwise(parts):
        together = larger.ladder is not None and larger.ladder is smaller.ladder
        if not together or smaller.factor >= larger.factor:
            names = {"larger": larger.symbol, "smaller": smaller.symbol}
            raise refusal(text, grammar, *why_out_of_order(normal_text(text), grammar, **names))
        if before.denominator != 1:
            why = f"the {larger.symbol} before {smaller.symbol} must be a whole number"
            raise refusal(text, grammar, why)
        if number * smaller.factor >= larger.factor:
            why = f"the {smaller.symbol} after {larger.symbol} must be less than 1 {larger.symbol}"
            raise refusal(text, grammar, why)
    return sum((unit.factor * number for number, unit in parts), Fraction(0))


def _from_text(text: str, grammar: Grammar) -> Fraction:
    """Read a text with unit."""
    if len(text) > MOST_LETTERS:
        raise refusal(text, grammar, f"this is longer than {MOST_LETTERS} letters")
    body = normal_text(text)
    if not body:
        raise refusal(text, grammar, "nothing is written here")
    sign = -1 if body[0] == "-" else 1
    body = body[1:].strip(" ") if body[0] in "+-" else body
    if not body:
        raise refusal(text, grammar, "a sign alone is no number")
    parts = _components(body, text, grammar)
    if len(parts) == 1:
        number, unit = parts[0]
        return unit.to_base(sign * number)
    return sign * _sum_up(parts, text, grammar)


def read(typed: object, grammar: Grammar) -> Fraction:
    """Give the exact value in the base unit of what was typed, or refuse it in words."""
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        raise refusal(typed, grammar, "this is neither a text nor a number")
    if isinstance(typed, str):
        value = _from_text(typed, grammar)
    elif isinstance(typed, float) and not math.isfinite(typed):
        raise refusal(typed, grammar, "this is no finite number")
    else:
        # the digits as typed: 0.1 is a tenth, not the binary number nearest to it
        exact = Fraction(typed) if isinstance(typed, int) else Fraction(repr(float(typed)))
        value = grammar.bare.to_base(exact)
    _within(value, typed, grammar)
    return value


def _within(value: Fraction, typed: str | float, grammar: Grammar) -> None:
    """Refuse what no workshop can mean."""
    if grammar.least is not None and value < grammar.least:
        limit = f"{float(grammar.least):g} {grammar.units[0].symbol}"
        raise refusal(typed, grammar, f"this is below {limit}, the least there can be")
    if abs(value) > LARGEST:
        raise refusal(typed, grammar, "this is larger than anything in a workshop")
