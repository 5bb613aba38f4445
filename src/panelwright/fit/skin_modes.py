"""Twist and bow of a skin, as displacements of its places.

Both are displacements along the normal of the plane through its homes, with no rigid motion in
them: over the homes they are orthogonal to every shift and turn. Their amplitude is that of the
home that moves most.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MODES = ("twist", "bow")
_LITTLE = 0.05
"""What is left of a mode without its rigid part, below which the homes cannot show it."""


def modes_of(homes: Floats, places: Floats) -> Floats:
    """Displacement of places for an amplitude of 1, for each mode that the homes can show.

    With ξ and η along and across the homes' plane, both from −1 to 1: twist ξ·η, bow ξ², each
    less its rigid part (a + b·ξ + c·η) and bow less its twist, over the homes.

    Parameters
    ----------
    homes : array, shape (m, 3)
        Of the part's points [mm].
    places : array, shape (n, 3)
        Where the displacements are wanted [mm].

    Returns
    -------
    array, shape (n, 3, 2)
        Twist and bow [mm per mm]; nought where the homes cannot tell it from a rigid motion.
    """
    modes = np.zeros((len(places), 3, len(MODES)))
    if len(homes) <= 3:
        return modes
    middle = homes.mean(axis=0)
    _, sizes, axes = np.linalg.svd(homes - middle, full_matrices=False)
    if sizes[1] < _LITTLE * sizes[0]:
        return modes
    plane = (homes - middle) @ axes[:2].T
    half = np.abs(plane).max(axis=0)
    basis = [np.ones(len(homes)), *(plane / half).T]
    there = [np.ones(len(places)), *(((places - middle) @ axes[:2].T) / half).T]
    for number, (i, j) in enumerate(((1, 2), (1, 1))):
        own, wanted = basis[i] * basis[j], there[i] * there[j]
        known = np.array(basis).T
        shares, *_ = np.linalg.lstsq(known, own, rcond=None)
        own = own - known @ shares
        wanted = wanted - np.array(there).T @ shares
        most = float(np.abs(own).max())
        if most < _LITTLE:
            continue
        basis.append(own / most)
        there.append(wanted / most)
        modes[:, :, number] = np.outer(wanted / most, axes[2])
    return modes
