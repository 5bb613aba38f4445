"""A plate under lamps: from what it absorbs to its temperature history, of many members."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.plate import LOSS_REFERENCE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.plate import Modes

    Floats = NDArray[np.float64]
    Loss = Callable[[Floats], Floats]


STEADY_S = 900.0
"""A step this long comes only hours after a switch, when the plate has long been steady."""


@dataclass(frozen=True)
class Stretch:
    """A time in which the lamps stand and burn alike.

    Parameters
    ----------
    from_s, to_s : float
        [s]
    absorbed : array, shape (k, n, m)
        Sources of the modes, by `Modes.project` of what the cells absorb.
    """

    from_s: float
    to_s: float
    absorbed: Floats


def phi(z: Floats) -> tuple[Floats, Floats, Floats]:
    """The exponential and its first two divided differences, for z at or below 0.

    Parameters
    ----------
    z : array
        −λ Δt, not above 0 [-].

    Returns
    -------
    tuple of array
        e^z, φ₁ = (e^z − 1)/z, φ₂ = (e^z − 1 − z)/z².

    References
    ----------
    Cox S.M., Matthews P.C. (2002) J. Comput. Phys. 176, 430–455 (from memory).
    """
    small = np.abs(z) < 1e-4
    safe = np.where(small, -1.0, z)
    first = np.where(small, 1.0 + z / 2.0 + z * z / 6.0, np.expm1(safe) / safe)
    second = np.where(small, 0.5 + z / 6.0 + z * z / 24.0, (np.expm1(safe) - safe) / (safe * safe))
    return np.exp(z), first, second


def run(
    modes: Modes,
    stretches: Sequence[Stretch],
    loss: Loss,
    start_C: Floats,
    times_s: Floats,
    watch: Floats,
) -> Floats:
    """Temperatures at watched places of every member.

    du/dt = −λu + P[q − loss(T) + h_ref (T − T_start)]   (1)

    stepped by the exponential Adams–Bashforth method of second order; a step after a switch is of
    first order and small. Exact for any loss that is linear with the reference coefficient.

    Parameters
    ----------
    modes : Modes
    stretches : sequence of Stretch
        One after the other from 0 on; what no stretch covers has no lamp.
    loss : callable
        From cell temperatures, shape (i, j, m) [°C], to what both faces lose, same shape [W/m²].
    start_C : array, shape (m,)
        Of the whole plate at 0 [°C].
    times_s : array, shape (t,)
        Rising from 0, with every switch among them [s].
    watch : array, shape (p, k, n)
        By `Modes.at`.

    Returns
    -------
    array, shape (m, p, t)
        [°C]

    References
    ----------
    Cox and Matthews 2002, equation 9 (from memory); Hochbruck M., Ostermann A. (2010) Acta
    Numerica 19, 209–286.
    """
    members = len(start_C)
    u = np.zeros((*modes.rate.shape, members))
    flat = watch.reshape(len(watch), -1)
    found = np.empty((len(times_s), len(watch), members))
    found[0] = start_C
    before: Floats | None = None
    last_s, stretch = 0.0, None
    for number, (start, end) in enumerate(itertools.pairwise(times_s.tolist())):
        middle, step = 0.5 * (start + end), end - start
        if step > STEADY_S:
            found[number + 1] = found[number]
            continue
        now = next((one for one in stretches if one.from_s <= middle < one.to_s), None)
        excess = modes.field(u)
        flux = LOSS_REFERENCE * excess
        flux -= loss(excess + start_C)
        source = modes.project(flux)
        if now is not None:
            source += now.absorbed
        decay, first, second = phi(-modes.rate * step)
        u *= decay[:, :, None]
        u += (step * first)[:, :, None] * source
        if before is not None and now is stretch:
            u += (step * step / last_s * second)[:, :, None] * (source - before)
        before, last_s, stretch = source, step, now
        found[number + 1] = start_C + flat @ u.reshape(-1, members)
    return np.ascontiguousarray(found.transpose(2, 1, 0))
