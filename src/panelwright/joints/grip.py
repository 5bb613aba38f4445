"""Which length of rivet clamps a stack.

**The rule.** Among the rivets whose grip range holds the stack, both ends included, the one with
the larger margin to the nearer end of its range is taken, for the stack is known only to within
its uncertainty; where two margins are equal, as on a boundary that two rows share, the longer
rivet, for one that is too short forms no head on the blind side.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from panelwright.joints.answer import Rivet

_SAME_MM = 1e-6


def grip_margin_mm(rivet: Rivet, stack_mm: float) -> float | None:
    """Distance of a stack from the nearer end of the grip range.

    Parameters
    ----------
    rivet : Rivet
    stack_mm : float
        Sheets with bond lines, > 0 [mm].

    Returns
    -------
    float or None
        Below zero outside the range [mm]; None where the rivet declares no grip.
    """
    if rivet.grip_min_mm is None or rivet.grip_max_mm is None:
        return None
    margin = min(stack_mm - rivet.grip_min_mm, rivet.grip_max_mm - stack_mm)
    return round(margin / _SAME_MM) * _SAME_MM


def choose_by_grip(rivets: Iterable[Rivet], stack_mm: float) -> Rivet | None:
    """The rivet of one diameter that clamps a stack best, by the rule at the head of this module.

    Parameters
    ----------
    rivets : iterable of Rivet
        Of one diameter.
    stack_mm : float
        Sheets with bond lines, > 0 [mm].

    Returns
    -------
    Rivet or None
        None where no grip range holds the stack.

    References
    ----------
    ISO 15981:2002, grip ranges (seen; the diameters of its columns inferred).

    Examples
    --------
    >>> from panelwright.joints.catalogue import rivets_iso15981
    >>> sizes = [rivet for rivet in rivets_iso15981() if rivet.diameter_mm == 4.8]
    >>> [choose_by_grip(sizes, stack).length_mm for stack in (2.45, 2.5, 2.55)]
    [6.0, 8.0, 8.0]
    """
    fitting = [
        (margin, rivet.length_mm or 0.0, rivet)
        for rivet in rivets
        if (margin := grip_margin_mm(rivet, stack_mm)) is not None and margin >= -_SAME_MM / 2.0
    ]
    best = max(fitting, key=lambda each: each[:2], default=None)
    return best[2] if best else None


def chance_in_grip(rivet: Rivet, stack_mm: float, stack_u_mm: float) -> float | None:
    """Probability that the real stack lies within the grip range.

    Parameters
    ----------
    rivet : Rivet
    stack_mm, stack_u_mm : float
        Stack and its standard uncertainty, normally distributed; u > 0 [mm].

    Returns
    -------
    float or None
        0 to 1; None where the rivet declares no grip.
    """
    if rivet.grip_min_mm is None or rivet.grip_max_mm is None:
        return None
    low, high = (
        math.erf((end - stack_mm) / (stack_u_mm * math.sqrt(2.0)))
        for end in (rivet.grip_min_mm, rivet.grip_max_mm)
    )
    return (high - low) / 2.0
