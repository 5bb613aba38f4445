"""Which inputs a result's spread comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True)
class Share:
    """One input's part of a result's variance, in the square of the result's unit."""

    name: str
    variance: float


def standard_uncertainty(shares: Iterable[Share]) -> float:
    """Combined standard uncertainty of independent inputs.

    Parameters
    ----------
    shares : iterable of Share
        Variance that each input contributes.

    Returns
    -------
    float
        Root of the sum, in the result's unit (JCGM 100:2008, equation 10).
    """
    return math.sqrt(math.fsum(share.variance for share in shares))


def largest(shares: Iterable[Share], count: int = 3) -> tuple[tuple[str, float], ...]:
    """The inputs that contribute most to a result's spread.

    Parameters
    ----------
    shares : iterable of Share
        Variance that each input contributes; several of one name are added up.
    count : int
        How many are wanted.

    Returns
    -------
    tuple of (str, float)
        Name and fraction of the variance (0 to 1), largest first.
    """
    sums: dict[str, float] = {}
    for share in shares:
        sums[share.name] = sums.get(share.name, 0.0) + share.variance
    total = math.fsum(sums.values())
    if total <= 0.0:
        return ()
    ranked = sorted(sums.items(), key=lambda item: (-item[1], item[0]))
    return tuple((name, variance / total) for name, variance in ranked[:count])
