"""How a quantity is written: its units, its limits and the pattern of its text."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from panelwright.quantities.units import Unit

MOST_LETTERS = 80
LARGEST = Fraction(10**12)  # in the base unit; beyond it nothing in a workshop is meant

_NUMBER = (
    r"(?:(?P<whole>[0-9]+)(?:\ +|\ *-\ *)(?P<top>[0-9]+)\ ?/\ ?(?P<bottom>[0-9]+)"
    r"|(?P<only_top>[0-9]+)\ ?/\ ?(?P<only_bottom>[0-9]+)"
    r"|(?P<decimal>[0-9]+\.[0-9]+|\.[0-9]+|[0-9]+))"
)
_SCHEMA_NUMBER = (
    "(?:(?:[0-9]+(?: +| *- *))?[0-9]+ ?[/⁄] ?[0-9]+"
    "|(?:[0-9]+ *)?[¼½¾⅐-⅞]|[0-9]+\\.[0-9]+|\\.[0-9]+|[0-9]+)"
)
_PRIMES = {"'": "['′’]", '"': '["″”]', "''": "['′’]['′’]"}


def _plain(spelling: str) -> str:
    """Escape what a pattern would take for its own, in a way that JSON Schema allows too."""
    return _PRIMES.get(spelling, re.sub(r"([.^$|()\[\]{}*+?\\])", r"\\\1", spelling))


@dataclass(frozen=True)
class Grammar:
    """What one kind of quantity accepts.

    ``bare`` is the unit of a number without unit, ``least`` the smallest value in the base
    unit (None: no limit), ``examples`` are texts that show how to write it.
    """

    noun: str
    units: tuple[Unit, ...]
    bare: Unit
    least: Fraction | None
    examples: tuple[str, ...]

    @cached_property
    def by_spelling(self) -> dict[str, Unit]:
        """Give the unit of each spelling."""
        return {spelling: unit for unit in self.units for spelling in unit.spellings}

    @cached_property
    def component(self) -> re.Pattern[str]:
        """Give the pattern of one number with its unit."""
        spellings = sorted(self.by_spelling, key=len, reverse=True)
        units = "|".join(re.escape(spelling) for spelling in spellings)
        return re.compile(rf"\ *{_NUMBER}\ *(?P<unit>{units})(?![A-Za-z²³/^])")

    @cached_property
    def schema_pattern(self) -> str:
        """Give a pattern of the whole text for a JSON Schema; the parser is stricter."""
        spellings = sorted(self.by_spelling, key=len, reverse=True)
        units = "|".join(_plain(spelling) for spelling in spellings)
        return f"^ *[+−-]? *(?:{_SCHEMA_NUMBER} *(?:{units}) *)+$"

    @property
    def how_to_write(self) -> str:
        """Say how this quantity is written."""
        *firsts, last = [f'"{example}"' for example in self.examples]
        return f"{', '.join(firsts)} or {last}" if firsts else last
