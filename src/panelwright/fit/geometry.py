"""Where every node of the network lies for given unknowns, and how it follows them.

A node is one point in one setting, or one place of a part in one setting. Root nodes are free or
known points; the others hang on a part's pose: p = c + R (h − c) + shift + e, with h the home,
c the mean of the part's homes and e the point's own deviation of shape.
"""

from __future__ import annotations

from dataclasses import dataclass, field
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
    spring : array of int, shape (k,)
        Unknown of the amplitude of each mode [mm], or KNOWN where there is none.
    modes : array, shape (m, 3, k)
        Displacement of each node for an amplitude of 1 [1].
    """

    pose: int
    first: int
    home: Indices
    mirror: Floats
    shape: Indices
    centre: Floats
    spring: Indices = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    modes: Floats = field(default_factory=lambda: np.zeros((0, 3, 0)))

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
    posed : array, shape (n − k, 3, u)
        Derivative of the nodes that hang on a pose, by every unknown [mm per mm or per rad].
    geometry : Geometry
    """

    xyz: Floats
    posed: Floats
    geometry: Geometry

    @cached_property
    def follow(self) -> Floats:
        """Derivative of every position by every unknown, shape (n, 3, u)."""
        return np.concatenate([self.geometry.root_follow, self.posed])

    def chain(self, directions: Floats) -> Floats:
        """Derivatives of projections by the unknowns.

        Parameters
        ----------
        directions : array, shape (m, 3 n)
            Derivatives by the positions.

        Returns
        -------
        array, shape (m, u)
        """
        # A root axis is an unknown itself: its column is copied, not multiplied.
        result = np.take(directions, self.geometry.axis_of_unknown, axis=1, mode="clip")
        result[:, self.geometry.not_root] = 0.0
        if len(self.posed):
            split = 3 * len(self.geometry.roots)
            result += directions[:, split:] @ self.posed.reshape(-1, self.geometry.size)
        return result


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
        """How many nodes there are, roots first."""
        return len(self.roots) + sum(len(part.home) for part in self.parts)

    @cached_property
    def root_axes(self) -> tuple[Indices, Indices]:
        """Axes of the root nodes that are unknown, counted through, and their unknowns."""
        axes = np.flatnonzero(self.unknown.ravel() != KNOWN)
        return axes, self.unknown.ravel()[axes]

    @cached_property
    def axis_of_unknown(self) -> Indices:
        """Root axis, counted through, of every unknown; 0 where it is none."""
        axes, unknowns = self.root_axes
        axis = np.zeros(self.size, dtype=np.intp)
        axis[unknowns] = axes
        return axis

    @cached_property
    def not_root(self) -> Indices:
        """Unknowns that are no root axis."""
        return np.setdiff1d(np.arange(self.size), self.root_axes[1])

    @cached_property
    def root_follow(self) -> Floats:
        """Derivative of the root nodes by the unknowns, shape (k, 3, u)."""
        follow = np.zeros((len(self.roots), 3, self.size))
        axes, unknowns = self.root_axes
        follow.reshape(3 * len(self.roots), self.size)[axes, unknowns] = 1.0
        return follow

    def place(self, x: Floats) -> Placed:
        """Positions and their derivatives for unknowns `x`, shape (u,) [mm, rad]."""
        xyz = np.zeros((self.count, 3))
        xyz[: len(self.roots)] = self.roots
        axes, unknowns = self.root_axes
        xyz.reshape(-1)[axes] = x[unknowns]
        posed = np.zeros((self.count - len(self.roots), 3, self.size))
        for part in self.parts:
            _pose(part, x, xyz, self._homes_follow(part, posed), posed[self._own(part)])
        return Placed(xyz, posed, self)

    def _own(self, part: PosedPart) -> slice:
        """A part's nodes among the posed ones."""
        first = part.first - len(self.roots)
        return slice(first, first + len(part.home))

    def _homes_follow(self, part: PosedPart, posed: Floats) -> Floats:
        """Derivative of a part's homes, shape (m, 3, u)."""
        follow = np.zeros((len(part.home), 3, self.size))
        on_root = part.home < len(self.roots)
        follow[on_root] = self.root_follow[part.home[on_root]]
        follow[~on_root] = posed[part.home[~on_root] - len(self.roots)]
        mirrored: Floats = part.mirror[:, :, None] * follow
        return mirrored

    def homes(self, part: PosedPart, placed: Placed) -> tuple[Floats, Floats]:
        """Homes of a part's nodes, shape (m, 3), and their mean c, shape (3,) [mm]."""
        home = part.mirror * placed.xyz[part.home]
        return home, part.centre @ home


def _pose(part: PosedPart, x: Floats, xyz: Floats, home_follow: Floats, block: Floats) -> None:
    """Fill in positions and derivatives of one part, whose homes are filled in already."""
    shift, turn = x[part.pose : part.pose + 3], x[part.pose + 3 : part.pose + 6]
    R = rotation_matrix(turn)
    home = part.mirror * xyz[part.home]
    c = part.centre @ home
    turned = (home - c) @ R.T
    xyz[part.nodes] = c + turned + shift

    c_follow = np.tensordot(part.centre, home_follow, axes=1)
    block += np.matmul(R, home_follow - c_follow) + c_follow
    block[:, :, part.pose : part.pose + 3] += np.eye(3)
    block[:, :, part.pose + 3 : part.pose + 6] += -cross_matrix(turned) @ turning_jacobian(turn)

    for number, amplitude in enumerate(part.spring.tolist()):
        if amplitude != KNOWN:
            xyz[part.nodes] += part.modes[:, :, number] * x[amplitude]
            block[:, :, amplitude] += part.modes[:, :, number]

    node, axis = np.nonzero(part.shape != KNOWN)
    own = part.shape[node, axis]
    xyz[part.first + node, axis] += x[own]
    block[node, axis, own] += 1.0
