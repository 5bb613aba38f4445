"""Rigid motions of parts from where they are now, and what they do along given directions."""

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


@dataclass(frozen=True)
class Mover:
    """A part that may move: its motion is (shift, turn · reach), all six in mm.

    Parameters
    ----------
    centre : array, shape (3,)
        What it turns about [mm].
    reach_mm : float
        Radius of the part: makes a turn comparable with a shift.
    home : array, shape (6,)
        The motion that takes it home exactly [mm].
    is_free : bool
        False where it is taken home, whatever the others do.
    """

    part: str
    centre: Floats
    reach_mm: float
    home: Floats
    is_free: bool


def displaced(mover: Mover, motion: Floats, places: Floats) -> Floats:
    """How far places of a part go: (R − I)(p − centre) + shift.

    Parameters
    ----------
    mover : Mover
    motion : array, shape (6,)
        [mm]
    places : array, shape (n, 3)
        Where they are now [mm].

    Returns
    -------
    array, shape (n, 3)
        [mm]
    """
    arms = places - mover.centre
    moved: Floats = arms @ (rotation_matrix(motion[3:] / mover.reach_mm) - np.eye(3)).T + motion[:3]
    return moved


@dataclass(frozen=True)
class Term:
    """A part of a row: displacement of a place of mover number `mover` along a direction."""

    mover: int
    place: Floats
    along: Floats


@dataclass(frozen=True)
class Rows:
    """Displacements along directions, each a sum over parts.

    Parameters
    ----------
    movers : tuple of Mover
    terms : tuple of tuple of Term
        Of every row; a row without terms stays as it is.
    """

    movers: tuple[Mover, ...]
    terms: tuple[tuple[Term, ...], ...]

    @cached_property
    def _flat(self) -> tuple[Indices, Indices, Floats, Floats]:
        every = [(row, term) for row, terms in enumerate(self.terms) for term in terms]
        return (
            np.array([row for row, _ in every], dtype=np.intp),
            np.array([term.mover for _, term in every], dtype=np.intp),
            np.array([term.place for _, term in every]).reshape(-1, 3),
            np.array([term.along for _, term in every]).reshape(-1, 3),
        )

    @property
    def home(self) -> Floats:
        """The motions that take every part home, shape (6 p,) [mm]."""
        return np.concatenate([mover.home for mover in self.movers])

    def at(self, motions: Floats) -> tuple[Floats, Floats]:
        """Displacements and their derivatives.

        Parameters
        ----------
        motions : array, shape (6 p,)
            Of all movers [mm].

        Returns
        -------
        array, shape (r,)
            [mm]
        array, shape (r, 6 p)
            [1]
        """
        row, of, place, along = self._flat
        values = np.zeros(len(self.terms))
        slopes = np.zeros((len(self.terms), len(motions)))
        for number, mover in enumerate(self.movers):
            own, columns = of == number, slice(6 * number, 6 * number + 6)
            turn = motions[columns][3:] / mover.reach_mm
            moved = displaced(mover, motions[columns], place[own])
            np.add.at(values, row[own], np.sum(moved * along[own], axis=1))
            turned = (place[own] - mover.centre) @ rotation_matrix(turn).T
            by_turn = -cross_matrix(turned) @ turning_jacobian(turn) / mover.reach_mm
            follow = np.concatenate(
                [along[own], np.einsum("na,nab->nb", along[own], by_turn)], axis=1
            )
            np.add.at(slopes[:, columns], row[own], follow)
        return values, slopes
