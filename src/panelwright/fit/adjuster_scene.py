"""The fitted parts as adjusters find them, and the rows that are gathered over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.motions import Mover, Rows, Term
from panelwright.fit.rotation import cross_matrix, rotation_matrix, turning_jacobian
from panelwright.fit.stations import displacement_along, place_nodes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.part_answer import PartFit
    from panelwright.fit.sketch import Node, Vector
    from panelwright.fit.verdicts import PartState

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Scene:
    """Every fitted part in its latest dry fit.

    Parameters
    ----------
    states, fits : mapping
        By part.
    confidence : float
        Of verdicts.
    """

    network: Network
    adjusted: Adjusted
    placed: Placed
    states: Mapping[str, PartState]
    fits: Mapping[str, PartFit]
    confidence: float

    def mover(self, part: str, *, is_free: bool) -> Mover:
        """A part as a rigid body where it is now.

        Parameters
        ----------
        part : str
        is_free : bool
            False: it goes home.

        Returns
        -------
        Mover
        """
        state = self.states[part]
        now = state.home + state.off
        centre = now.mean(axis=0)
        reach = max(float(np.sqrt(np.mean(np.sum((now - centre) ** 2, axis=1)))), 1.0)
        _, c = self.network.geometry.homes(state.posed, self.placed)
        back = c + rotation_matrix(-state.turn) @ (centre - c - state.shift)
        home = np.concatenate([back - centre, -reach * state.turn])
        return Mover(part, centre, reach, home, is_free)

    def follow(self, part: str, place: Floats, along: Floats) -> Floats:
        """Derivative of the displacement of any place of a part, by all unknowns.

        Parameters
        ----------
        part : str
        place : array, shape (3,)
            Where it is now [mm].
        along : array, shape (3,)
            Unit direction.

        Returns
        -------
        array, shape (u,)
        """
        state = self.states[part]
        _, c = self.network.geometry.homes(state.posed, self.placed)
        turned = place - c - state.shift
        own = np.concatenate([np.eye(3), -cross_matrix(turned) @ turning_jacobian(state.turn)], 1)
        row = np.zeros(self.network.geometry.size)
        row[state.posed.pose : state.posed.pose + 6] = along @ own
        return row

    def spread_of(self, follow: Floats) -> float | None:
        """Standard uncertainty of a quantity by its derivative; None where it is not seen."""
        if self.adjusted.leaves_open(follow[None, :]).any():
            return None
        return float(np.sqrt(max(float(follow @ self.adjusted.covariance @ follow), 0.0)))


@dataclass(frozen=True)
class Seen:
    """A row with what the readings say of it: displacement now, and its derivative."""

    row: int
    now_mm: float
    follow: Floats
    u_mm: float | None


@dataclass
class Gathered:
    """Rows over some movers, as they are gathered."""

    scene: Scene
    movers: tuple[Mover, ...]
    terms: list[tuple[Term, ...]] = field(default_factory=list)

    @property
    def rows(self) -> Rows:
        """What was gathered."""
        return Rows(self.movers, tuple(self.terms))

    def row(self, sides: tuple[tuple[str, Floats, Floats], ...]) -> int:
        """A row from part, place and direction of its sides; parts that stay add nothing."""
        number = {mover.part: k for k, mover in enumerate(self.movers)}
        self.terms.append(
            tuple(
                Term(number[part], place, along) for part, place, along in sides if part in number
            )
        )
        return len(self.terms) - 1

    def point(self, part: str, k: int, direction: Floats) -> int:
        """A row of point number `k` of a part along a direction."""
        state = self.scene.states[part]
        return self.row(((part, state.home[k] + state.off[k], direction),))

    def between(self, name: str, part: str, beside: str, towards: Vector) -> Seen:
        """A row of a station, contact or locator: its part less its neighbour, along a direction.

        Parameters
        ----------
        name : str
            Such as "station d1".
        part, beside : str
        towards : Vector
            Unit direction.

        Returns
        -------
        Seen
        """
        scene, along = self.scene, np.array(towards)
        nodes = place_nodes(scene.network, name, part, beside)
        now, follow = displacement_along(scene.network, scene.placed, nodes, towards)
        sides = tuple(
            (node.owner, self._place(node), sign * along)
            for node, sign in zip(nodes, (1.0, -1.0), strict=True)
            if node is not None
        )
        return Seen(self.row(sides), now, follow, scene.spread_of(follow))

    def _place(self, node: Node) -> Floats:
        place: Floats = self.scene.placed.xyz[self.scene.network.number[node]]
        return place
