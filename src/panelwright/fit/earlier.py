"""A part in one dry fit; and the earlier ones, so that what a move did can be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.part_answer import PartFit
from panelwright.fit.spread import spread, vector
from panelwright.fit.verdicts import Judge, PartState, judge_points, part_state

if TYPE_CHECKING:
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network

TO_MRAD = np.array([1.0, 1.0, 1.0, 1e3, 1e3, 1e3])


def bare_fit(state: PartState, network: Network, adjusted: Adjusted, judge: Judge) -> PartFit:
    """A part in one setting with its points, as yet without gaps, blind motions and moves.

    Parameters
    ----------
    state : PartState
    network, adjusted
        The network and its unknowns.
    judge : Judge

    Returns
    -------
    PartFit
    """
    covariance = state.covariance * np.outer(TO_MRAD, TO_MRAD)
    seen = not np.abs(state.undetermined).max(initial=0.0) > 1e-9
    own = np.zeros((6, len(adjusted.x)))
    own[np.arange(6), state.posed.pose + np.arange(6)] = 1.0
    open_axes, variances = adjusted.leaves_open(own), np.diagonal(covariance)
    return PartFit(
        id=state.pose.part,
        setting=state.pose.setting,
        shift_mm=vector(state.shift),
        turn_mrad=vector(1e3 * state.turn),
        covariance=tuple(tuple(row) for row in covariance.tolist()) if seen else None,
        points=judge_points(state, network, adjusted, judge),
        stations=(),
        unseen=(),
        moves=(),
        label=network.repair.part_by_id[state.pose.part].label,
        shift_u_mm=spread(variances[:3], open_axes[:3]),
        turn_u_mrad=spread(variances[3:], open_axes[3:]),
    )


def earlier_fits(
    network: Network, adjusted: Adjusted, placed: Placed, judge: Judge
) -> tuple[PartFit, ...]:
    """Every part in every dry fit before its latest, oldest first; points only.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    judge : Judge

    Returns
    -------
    tuple of PartFit
    """
    latest = {pose.part: pose.setting for pose, _ in network.latest_poses()}
    found = [
        bare_fit(part_state(network, adjusted, placed, *both), network, adjusted, judge)
        for both in zip(network.poses, network.posed, strict=True)
        if both[0].setting != latest.get(both[0].part)
    ]
    return tuple(sorted(found, key=lambda fit: (fit.id, fit.setting)))
