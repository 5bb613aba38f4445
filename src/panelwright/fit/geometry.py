"""Where every node of the network lies for given unknowns, and how it follows them.

A node is one point in one setting, or one place of a part in one setting. Root nodes are free or
known points; the others hang on a part's pose: p = c + R (h − c) + shift + e, with h the home,
c the mean of the part's homes and e the point's own deviation of shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.rotation import cross_matrix, rotation_matrix, turning_jacobian

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

KNOWN = -1
"""Stands in place of an unknown's number where an axis is known."""


@dataclass(frozen=True)
class PosedPart:
    """One part in one setting: its pose and the nodes that hang on it.

    Parameters
    ----------
    pose : int
        Number of the first of its six unknowns: shift x, y, z [mm], turn x, y, z [rad].
    first : int
        Number of its first node; its nodes follow one another.
    home : array of int, shape (m,)
        Node that each home is taken from.
    mirror : array, shape (m, 3)
        Signs that make the home of that node: −1 in y for a twin, else 1.
    shape : array of int, shape (m, 3)
        Unknown of the deviation of shape on each axis, or KNOWN where there is none.
    centre : array, shape (m,)
        Weights of the homes in c; their sum is 1.
    """

    pose: int
    first: int
    home: Indices
    mirror: Floats
    shape: Indices
    centre: Floats

    @property
    def nodes(self) -> slice:
        """Its nodes."""
        return slice(self.first, self.first + len(self.home))


@dataclass(frozen=True)
class Placed:
    """Positions for given unknowns.

    Parameters
    ----------
    xyz : array, shape (n, 3)
        Of every node [mm].
    follow : array, shape (n, 3, u)
        Derivative of every position by every unknown [mm per mm or per rad].
    """

    xyz: Floats
    follow: Floats


@dataclass(frozen=True)
class Geometry:
    """The nodes of a network.

    Parameters
    ----------
    roots : array, shape (k, 3)
        Coordinates of the root nodes; those of unknown axes are replaced [mm].
    unknown : array of int, shape (k, 3)
        Unknown of each axis, or KNOWN.
    parts : tuple of PosedPart
        In an order in which every home comes before the part that needs it.
    size : int
        How many unknowns there are.
    """

    roots: Floats
    unknown: Indices
    parts: tuple[PosedPart, ...]
    size: int

    @cached_property
    def count(self) -> int:
        """How many nodes there are."""
        return len(self.roots) + sum(len(part.home) for part in self.parts)

    @cached_property
    def _root_axes(self) -> Indices:
        return np.flatnonzero(self.unknown.ravel() != KNOWN)

    @cached_property
    def _root_follow(self) -> Floats:
        follow = np.zeros((self.count, 3, self.size))
        flat = follow.reshape(-1, self.size)
        flat[self._root_axes, self.unknown.ravel()[self._root_axes]] = 1.0
        follow.setflags(write=False)
        return follow

    def place(self, x: Floats) -> Placed:
        """Positions and their derivatives for unknowns `x`, shape (u,) [mm, rad]."""
        xyz = np.zeros((self.count, 3))
        xyz[: len(self.roots)] = self.roots
        xyz.reshape(-1)[self._root_axes] = x[self.unknown.ravel()[self._root_axes]]
        if not self.parts:
            return Placed(xyz, self._root_follow)
        follow = self._root_follow.copy()
        for part in self.parts:
            _pose(part, x, xyz, follow)
        return Placed(xyz, follow)

    def homes(self, part: PosedPart, placed: Placed) -> tuple[Floats, Floats]:
        """Homes of a part's nodes, shape (m, 3), and their mean c, shape (3,) [mm]."""
        home = part.mirror * placed.xyz[part.home]
        return home, part.centre @ home


def _pose(part: PosedPart, x: Floats, xyz: Floats, follow: Floats) -> None:
    """Fill in the nodes of one part, whose homes are filled in already."""
    shift, turn = x[part.pose : part.pose + 3], x[part.pose + 3 : part.pose + 6]
    R = rotation_matrix(turn)
    home = part.mirror * xyz[part.home]
    c = part.centre @ home
    turned = (home - c) @ R.T
    xyz[part.nodes] = c + turned + shift

    home_follow = part.mirror[:, :, None] * follow[part.home]
    c_follow = np.tensordot(part.centre, home_follow, axes=1)
    block = follow[part.nodes]
    block += np.matmul(R, home_follow - c_follow) + c_follow
    block[:, :, part.pose : part.pose + 3] += np.eye(3)
    block[:, :, part.pose + 3 : part.pose + 6] += -cross_matrix(turned) @ turning_jacobian(turn)

    node, axis = np.nonzero(part.shape != KNOWN)
    own = part.shape[node, axis]
    xyz[part.first + node, axis] += x[own]
    block[node, axis, own] += 1.0
