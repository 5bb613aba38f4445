"""What each kind of reading sees of a part by itself, and what it leaves open.

Two diagonals that agree are one equation on six motions. Here that is put into numbers for the
repair at hand: a part is let loose by 50 mm in each of its six motions (turns by as much at its
radius), the body is known as by all readings that do not touch the part, and then only the readings
of one kind are counted. The share of a motion's variance that goes is what this kind sees of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.datum import frame_motions
from panelwright.fit.part_answer import Sees
from panelwright.fit.sketch import Kind, Node
from panelwright.fit.unseen import metric, reach_of
from panelwright.fit.words import joined
from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.verdicts import PartState

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

LOOSE_MM = 50.0
"""How far a part may be off in each motion before anything is read of it."""
HELD_MM = 10.0
"""A motion counts as held where its standard uncertainty is below this."""
NEVER_MM = 1000.0
"""A motion that shows only beyond this never shows."""
_MOVES_NOTHING = 1e-6
_FAR = 1e-4
"""Weight of what nothing holds: standard uncertainty 10 m."""
_FIRM = 1e2
"""Weight that keeps a body that floats where it started."""

CROSS = "side against side"
KINDS = {
    "compare": CROSS,
    "span": "span",
    "height": "height",
    "x": "coordinates",
    "y": "coordinates",
    "z": "coordinates",
    "gap": "gap",
    "flush": "flush",
    "lift": "contact",
    "along": "pin",
    "across": "pin",
}
ALL = "all together"
MOTION_NAMES = ("forward", "right", "up", "roll", "pitch", "yaw")
_WAYS = (
    "forward or rearward",
    "to the left or to the right",
    "high or low",
    "at its edge in roll",
    "at its edge in pitch",
    "at its edge in yaw",
)


def what_each_sees(
    network: Network,
    adjusted: Adjusted,
    placed: Placed,
    states: tuple[PartState, ...],
    confidence: float,
) -> tuple[Sees, ...]:
    """For every part, what each kind of reading of it sees alone, then all together.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    states : tuple of PartState
        Every fitted part in its latest setting.
    confidence : float
        At which a motion shows, 0 to 1 [1].

    Returns
    -------
    tuple of Sees
        Where nobody compared sides, how such a reading would do is told too.
    """
    reach = reach_of(confidence)
    return tuple(
        row for state in states for row in _Alone.of(network, adjusted, placed, state, reach).rows()
    )


@dataclass(frozen=True)
class _Alone:
    """One part let loose over a body that is known by all readings that do not touch it.

    Parameters
    ----------
    covariance : array, shape (u, u)
    scale : array, shape (6,)
        mm at the radius of the part for each unit of its pose.
    furthest : array, shape (6,)
        How far the place that moves most goes for 1 mm of each motion [1].
    """

    network: Network
    adjusted: Adjusted
    placed: Placed
    state: PartState
    covariance: Floats
    scale: Floats
    furthest: Floats
    reach: float

    @classmethod
    def of(
        cls,
        network: Network,
        adjusted: Adjusted,
        placed: Placed,
        state: PartState,
        reach: float,
    ) -> _Alone:
        pose = slice(state.posed.pose, state.posed.pose + 6)
        scale = metric(state)
        touching = np.abs(adjusted.jacobian[:, pose]).max(axis=1) > 0.0
        rest = adjusted.jacobian[~touching]
        precision = rest.T @ rest
        diagonal = np.full(len(adjusted.x), _FAR**2)
        diagonal[pose] = (scale / LOOSE_MM) ** 2
        precision[np.diag_indices_from(precision)] += diagonal
        if adjusted.datum:
            firm = _FIRM * frame_motions(network.equations, adjusted.x, network.frame)
            precision += firm @ firm.T
        moved = np.abs(np.linalg.norm(state.follow, axis=1)).max(axis=0) / scale
        return cls(network, adjusted, placed, state, _inverse(precision), scale, moved, reach)

    @property
    def _pose(self) -> slice:
        return slice(self.state.posed.pose, self.state.posed.pose + 6)

    def rows(self) -> Iterator[Sees]:
        """Each kind that was read, then all of them."""
        kinds: dict[str, list[int]] = {}
        for row in self._touching():
            kinds.setdefault(KINDS[self.network.sketches[row].component], []).append(row)
        for kind in dict.fromkeys(KINDS.values()):
            if kind in kinds:
                yield self._sees(kind, self.adjusted.jacobian[kinds[kind]], len(kinds[kind]))
            elif kind == CROSS and (one := self._compared()) is not None:
                yield self._sees(CROSS, one[None, :], 0)
        every = [row for rows in kinds.values() for row in rows]
        if len(kinds) > 1:
            yield self._sees(ALL, self.adjusted.jacobian[every], len(every))

    def _touching(self) -> Iterator[int]:
        touches = np.abs(self.adjusted.jacobian[:, self._pose]).max(axis=1) > 0.0
        for row, sketch in enumerate(self.network.sketches):
            if touches[row] and sketch.kind is Kind.READING:
                yield row

    def _sees(self, kind: str, jacobian: Floats, count: int) -> Sees:
        """Bayes' rule for the pose alone: C − C Jᵀ (1 + J C Jᵀ)⁻¹ J C."""
        across = jacobian @ self.covariance
        inner = np.eye(len(jacobian)) + across @ jacobian.T
        of_pose = across[:, self._pose]
        after = self.covariance[self._pose, self._pose] - of_pose.T @ np.linalg.solve(
            inner, of_pose
        )
        after = after * np.outer(self.scale, self.scale)
        share = np.clip(1.0 - np.diagonal(after) / LOOSE_MM**2, 0.0, 1.0)
        held = int(np.sum(np.linalg.eigvalsh(after) < HELD_MM**2))
        # Along one motion alone, the other five at rest: the conditional standard uncertainty.
        precision = np.diagonal(np.linalg.inv(after)) - LOOSE_MM**-2.0
        open_mm = tuple(
            self._open(float(value), float(far))
            for value, far in zip(precision, self.furthest, strict=True)
        )
        found = Sees(
            self.state.pose.part, kind, count, tuple(share.tolist()), held, open_mm, words=""
        )
        return replace(found, words=sees_words(found))

    def _open(self, precision: float, furthest: float) -> float | None:
        if precision <= 0.0 or furthest < _MOVES_NOTHING:
            return None
        most = self.reach * furthest / sqrt(precision)
        return most if most < NEVER_MM else None

    def _compared(self) -> Floats | None:
        """The usual cross-measure: the two points furthest apart against their opposite sides."""
        pose, number = self.state.pose, self.network.number
        twins = [
            (number[Node(pose.part, pose.setting, home.point)], number[home.source])
            for home in pose.points
            if home.mirror[1] < 0.0
        ]
        pairs = [(one, other) for i, one in enumerate(twins) for other in twins[:i]]
        if not pairs:
            return None
        xyz, follow = self.placed.xyz, self.placed.follow
        (a, a_), (b, b_) = max(
            pairs, key=lambda two: float(np.linalg.norm(xyz[two[0][0]] - xyz[two[1][0]]))
        )
        row = np.zeros(len(self.adjusted.x))
        for sign, p, q in ((1.0, a, b_), (-1.0, a_, b)):
            arm = xyz[p] - xyz[q]
            length = float(np.linalg.norm(arm))
            if length == 0.0:
                return None
            row += sign * (arm / length) @ (follow[p] - follow[q])
        weighted: Floats = row / self.network.tools["tape"].u_mm
        return weighted


def _inverse(precision: Floats) -> Floats:
    scale = 1.0 / np.sqrt(np.diagonal(precision))
    inverse: Floats = np.linalg.inv(precision * np.outer(scale, scale)) * np.outer(scale, scale)
    return inverse


def sees_words(sees: Sees, units: Units = Units.MM) -> str:
    """What a kind of reading leaves open by itself.

    Parameters
    ----------
    sees : Sees
    units : Units
        Of the page.

    Returns
    -------
    str
        Such as "side against side holds 1 of the 6 motions of outer: alone it would not show the
        part 12.0 mm high or low, or any amount forward or rearward".
    """
    amounts = [
        f"{show_length(mm, units)} {way}"
        for mm, way in zip(sees.open_mm, _WAYS, strict=True)
        if mm is not None
    ]
    never = [way for mm, way in zip(sees.open_mm, _WAYS, strict=True) if mm is None]
    if never:
        amounts.append(f"any amount {' or '.join(never)}")
    would = "" if sees.readings else " would"
    said = (
        f"{sees.kind}{would} hold{'' if would else 's'} {sees.motions} of the 6 motions of "
        f"{sees.part}: by itself it would not show up to {joined(amounts)}, each alone"
    )
    if sees.motions < 6:
        said += f", and {_open_words(6 - sees.motions)} together any amount"
    return said


def _open_words(count: int) -> str:
    return "along one way" if count == 1 else f"along {count} ways"
