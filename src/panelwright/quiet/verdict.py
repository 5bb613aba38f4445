"""Whether a panel will drum, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.sources import Basis, Mark, Source

if TYPE_CHECKING:
    from panelwright.quiet.answer import Band

ENOUGH = 0.25
RULE = Source(Basis.PRACTICE, "25 to 50 % of a panel padded in its middle is enough", Mark.MEMORY)


def verdict(coverage: float | None, quieter: Band | None) -> str:
    """Say whether a panel will drum, as far as the file lets it be said.

    Parameters
    ----------
    coverage : float or None
        Padded share of the panel's area. [–]
    quieter : Band or None
        By how much its ringing falls. [dB]

    Returns
    -------
    str
        By the trade's rule of 25 to 50 % in the middle, marked as from memory.
    """
    if coverage is None:
        return "Cannot be said: the panel's area is not given."
    if coverage > 1.0:
        return "Cannot be said: the pads are larger than the panel; check outlines and area."
    rule = f"the trade's rule is 25 to 50 % in the middle [{RULE.mark}]"
    covered = f"pads cover {coverage * 100:.0f} %"
    if coverage < ENOUGH:
        words = f"It may drum: {covered}; {rule}. Look for a pad not yet traced."
    else:
        words = f"It should not drum: {covered}; {rule}."
    if quieter is not None:
        words += (
            f" Its own ringing falls by about {quieter.likely:.0f} dB "
            f"({quieter.low:.0f} to {quieter.high:.0f} dB)."
        )
    return words
