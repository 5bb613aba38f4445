"""Lengths within a sentence, in the units that somebody reads."""

from __future__ import annotations

import re

from panelwright.quantities.display import Units, show_length

_QUOTED = re.compile(r"""("[^"]*"|(?<!\w)'[^']*'(?!\w))""")
"""What somebody typed, or is to type: it stays as it is."""
_NUMBER = r"[-\u2212]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
_LENGTHS = re.compile(
    rf"(?<![\w.])({_NUMBER})(?: mm)?((?:(?: to | and | \+ | or | ± |, [yz] ){_NUMBER}(?: mm)?)*) mm"
    r"(?![\w²³/])"
)
_ONE = re.compile(rf"(?<![\w.]){_NUMBER}")


def in_units(words: str, units: Units) -> str:
    """Give a sentence of millimetres in the units that somebody reads.

    What stands in quotes was typed or is to be typed and stays. Numbers joined before one unit are
    taken together.

    Parameters
    ----------
    words : str
        With lengths in mm.
    units : Units
        MM: the sentence stays as it is.

    Returns
    -------
    str

    Examples
    --------
    >>> in_units("runs from 0 mm to 25.4 mm: give range", Units.IN)
    'runs from 0.000 in to 1.000 in: give range'
    >>> in_units("pointers of 50.8 and 254 mm, or u = '2 mm'", Units.IN)
    "pointers of 2.000 and 10.000 in, or u = '2 mm'"
    """
    if units is Units.MM:
        return words
    pieces = _QUOTED.split(words)
    return "".join(
        piece if number % 2 else _LENGTHS.sub(_converted, piece)
        for number, piece in enumerate(pieces)
    )


def _converted(found: re.Match[str]) -> str:
    """Every number of a run of lengths in inches; a unit stays where one stood."""
    inches = _ONE.sub(lambda one: show_length(_mm(one[0]), Units.IN).removesuffix(" in"), found[0])
    return inches.replace(" mm", " in")


def _mm(typed: str) -> float:
    return float(typed.replace("\u2212", "-"))
