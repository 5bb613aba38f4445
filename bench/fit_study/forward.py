"""What perfect tools would read: the simulator's own geometry.

A panel's point lies at c + R (h − c) + s + e: h its home, c the mean of all homes, s and R the
misplacement, e its own deviation of shape. All of it is done for many states at once, so that
derivatives can be taken as plain differences.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TOOLS = ("tape", "tram")
MIRROR = np.array([1.0, -1.0, 1.0])
_STEP_MM, _STEP_RAD, _STEP_SCALE = 1e-2, 1e-5, 1e-5


@dataclass(frozen=True)
class Layout:
    """How a state vector is made up: nodes, pose, shape, scales of the tools.

    Parameters
    ----------
    nodes : int
        Body points.
    home_of : array of int, shape (p,)
        Body point whose place (mirrored where `mirrored`) is the home; −1: `home` is known.
    home : array, shape (p, 3)
        [mm]
    places : array, shape (q, 3)
        Where the panel's edges, flanges and pins belong [mm].
    """

    nodes: int
    home_of: Integers
    mirrored: bool
    home: Floats
    places: Floats

    @property
    def pose(self) -> slice:
        """Shift [mm] and turn [rad] in a state."""
        return slice(3 * self.nodes, 3 * self.nodes + 6)

    @property
    def shape(self) -> slice:
        """Deviations of shape in a state [mm]."""
        return slice(self.pose.stop, self.pose.stop + 3 * len(self.home_of))

    @property
    def scale(self) -> slice:
        """Scale errors of the tools in a state [1]."""
        return slice(self.shape.stop, self.shape.stop + len(TOOLS))

    @property
    def steps(self) -> Floats:
        """Steps of numerical differences for every entry of a state."""
        steps = np.full(self.scale.stop, _STEP_MM)
        steps[self.pose.start + 3 : self.pose.stop] = _STEP_RAD
        steps[self.scale] = _STEP_SCALE
        return steps


@dataclass(frozen=True)
class Rows:
    """Scalar equations: `constant` + signed distances + displacements + nodes' axes.

    Parameters
    ----------
    constant, sigma : array, shape (m,)
        [mm]
    tool : array of int, shape (m,)
        Place in TOOLS of the tool whose scale a distance has; −1: none.
    distance : array of int, shape (d, 4)
        Row, point, point, sign.
    displaced : array of int, shape (g, 2)
        Row and place.
    towards : array, shape (g, 3)
    state : array, shape (m, u)
        What is linear in the state: given coordinates, pairs, priors.
    """

    constant: Floats
    sigma: Floats
    tool: Integers
    distance: Integers
    displaced: Integers
    towards: Floats
    state: Floats


def rotation(turn: Floats) -> Floats:
    """Rotation matrices of rotation vectors, by unit quaternions; shape (b, 3) to (b, 3, 3)."""
    angle = np.linalg.norm(turn, axis=1)
    half = 0.5 * angle
    factor = np.where(angle > 0.0, np.sin(half) / np.where(angle > 0.0, angle, 1.0), 0.5)
    w = np.cos(half)
    x, y, z = (factor[:, None] * turn).T
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    ).transpose(2, 0, 1)


def places(layout: Layout, state: Floats) -> tuple[Floats, Floats, Floats]:
    """Points (body, then panel), displacements of the places, and how far off the panel's points.

    State has shape (b, u); the answers (b, n + p, 3), (b, q, 3) and (b, p, 3), mm.
    """
    many = len(state)
    nodes = state[:, : 3 * layout.nodes].reshape(many, layout.nodes, 3)
    homes = np.broadcast_to(layout.home, (many, *layout.home.shape)).copy()
    follows = layout.home_of >= 0
    homes[:, follows] = nodes[:, layout.home_of[follows]] * (MIRROR if layout.mirrored else 1.0)
    centre = homes.mean(axis=1)[:, None, :]
    pose = state[:, layout.pose]
    turned = rotation(pose[:, 3:]).transpose(0, 2, 1)
    shift = pose[:, None, :3]
    hung = centre + (homes - centre) @ turned + shift
    shape = state[:, layout.shape].reshape(many, len(layout.home_of), 3)
    moved = centre + (layout.places - centre) @ turned + shift - layout.places
    return np.concatenate([nodes, hung + shape], axis=1), moved, hung - homes


def read(layout: Layout, rows: Rows, state: Floats) -> Floats:
    """What every equation gives for states of shape (b, u); shape (b, m)."""
    points, moved, _ = places(layout, state)
    values = rows.constant + state @ rows.state.T
    if len(rows.displaced):
        amounts = np.einsum("bgi,gi->bg", moved[:, rows.displaced[:, 1]], rows.towards)
        for column, row in enumerate(rows.displaced[:, 0]):
            values[:, row] += amounts[:, column]
    between = points[:, rows.distance[:, 1]] - points[:, rows.distance[:, 2]]
    lengths = rows.distance[:, 3] * np.sqrt((between**2).sum(axis=2))
    factors = np.ones((len(state), len(rows.constant)))
    scales = state[:, layout.scale]
    has_tool = rows.tool >= 0
    factors[:, has_tool] += scales[:, rows.tool[has_tool]]
    for column, row in enumerate(rows.distance[:, 0]):
        values[:, row] += lengths[:, column] * factors[:, row]
    return values


def slopes(layout: Layout, rows: Rows, state: Floats) -> Floats:
    """Derivatives of all equations by central differences, shape (m, u)."""
    steps = layout.steps
    about = state + np.concatenate([np.diag(steps), -np.diag(steps)])
    values = read(layout, rows, about)
    up, down = values[: len(steps)], values[len(steps) :]
    return ((up - down) / (2.0 * steps[:, None])).T
