"""Lengths within a sentence, in inches."""

from __future__ import annotations

import pytest

from panelwright.quantities import Units, in_units


@pytest.mark.parametrize(
    ("words", "inches"),
    [
        ("a seated flange lies within u 0.3 mm", "a seated flange lies within u 0.012 in"),
        ("stands at -25.4 mm, outside", "stands at -1.000 in, outside"),
        ("range of -50.8 mm to 25.4 mm: it", "range of -2.000 in to 1.000 in: it"),
        ("over C (254 + 508 mm), and", "over C (10.000 + 20.000 in), and"),
        ("2540 mm from L1 to R2 is 127 mm longer", "100.000 in from L1 to R2 is 5.000 in longer"),
        ("x 254, y 508, z 25.4 mm", "x 10.000, y 20.000, z 1.000 in"),
        ("reading 3, 25.4 mm", "reading 3, 1.000 in"),
        ("u 1 mm, offset 0 mm, scale 0.0002", "u 0.039 in, offset 0.000 in, scale 0.0002"),
        ("no bow seen, 25.4 ± 2.54 mm", "no bow seen, 1.000 ± 0.100 in"),
        ("area 20 mm², 3 mm/m", "area 20 mm², 3 mm/m"),
        ('give u = "0.5 mm"; it reads 25.4 mm', 'give u = "0.5 mm"; it reads 1.000 in'),
        ("the maker's 25.4 mm and the panel's", "the maker's 1.000 in and the panel's"),
        ("'1 mm' is no name", "'1 mm' is no name"),
        ("20 min, 3 of 4", "20 min, 3 of 4"),
    ],
)
def test_lengths_are_said_in_inches(words: str, inches: str) -> None:
    assert in_units(words, Units.IN) == inches
    assert in_units(words, Units.MM) == words
