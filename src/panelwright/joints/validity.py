"""Ranges in which a formula may be used, kept as data beside it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Validity:
    """Range of one input of a formula.

    Parameters
    ----------
    name : str
        The input, in words.
    low, high : float
        Ends of the range, both allowed.
    unit : str
    source : str
        Where the range is stated.
    """

    name: str
    low: float
    high: float
    unit: str
    source: str

    def holds(self, value: float) -> bool:
        """Whether the value lies in the range; a millionth of it is forgiven."""
        slack = 1e-6 * max(abs(self.low), abs(self.high), 1.0)
        return self.low - slack <= value <= self.high + slack

    def words(self, value: float) -> str:
        """What is wrong with a value outside the range."""
        return (
            f"{self.name} {value:g} {self.unit} is outside {self.low:g} to {self.high:g} "
            f"{self.unit} ({self.source}): not judged by this rule"
        )


def require_positive(**values: float) -> None:
    """Refuse a formula's inputs that are zero, negative or no number.

    Raises
    ------
    ValueError
        Naming the input and its value.
    """
    for name, value in values.items():
        if not value > 0.0 or value == float("inf"):
            raise ValueError(f"{name} is {value!r}; a finite number above zero is expected")
