"""What does not fit in a repair's network: readings, pairs of the body, given coordinates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.sketch import Kind
from panelwright.fit.suspects import Suspects, suspects_of

if TYPE_CHECKING:
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.network import Network


def body_groups(network: Network) -> tuple[tuple[int, ...], ...]:
    """Rows of every pair, and of the coordinates given for one point, that belong together.

    Parameters
    ----------
    network : Network

    Returns
    -------
    tuple of tuple of int
        Of the network's sketches, in their order.
    """
    groups: dict[tuple[Kind, tuple[str, ...]], list[int]] = {}
    for row, sketch in enumerate(network.sketches):
        if sketch.kind not in (Kind.READING, Kind.HOME):
            groups.setdefault((sketch.kind, sketch.about), []).append(row)
    return tuple(tuple(rows) for rows in groups.values())


def doubts_of(network: Network, adjusted: Adjusted) -> Suspects:
    """What does not fit in a repair's network: readings, pairs, given coordinates.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted
        With all readings.

    Returns
    -------
    Suspects
        `body` counts the groups of `body_groups`.
    """
    is_reading = np.array([s.kind is Kind.READING for s in network.sketches], dtype=bool)
    groups = body_groups(network)
    return suspects_of(
        network.equations, adjusted, network.frame, is_reading, groups, network.start
    )
