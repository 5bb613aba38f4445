"""A plate under lamps: from what it absorbs to its temperature history, of many members."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.plate_modes import LOSS_REFERENCE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.plate_modes import Modes

    Floats = NDArray[np.float64]
    Loss = Callable[[Floats], Floats]


MOST_K = 300.0
"""Beyond so far from the start the loss grows with the reference coefficient alone: less than it
would, so that such a plate comes out hotter than it could be. Nothing bonded lasts there."""
STEADY_S = 900.0
"""A step this long comes only hours after a switch, when the plate has long been steady."""
TOLERANCE_K = 0.5
"""By which a step may mend its forecast, were there no conduction; it then is about 0.02 K off."""
LONGER, SHORTER = 3.0, 0.3
"""A step is at most and at least this many times the one before."""


@dataclass(frozen=True)
class Stretch:
    """A time in which the lamps stand and burn alike.

    Parameters
    ----------
    from_s, to_s : float
        [s]
    absorbed : array, shape (k, n, m)
        Sources of the modes, by `Modes.project` of what the cells absorb.
    left_out : array, shape (p, m), or None
        What modes that are not kept add at the watched places, by `Modes.left_out` [K].
    """

    from_s: float
    to_s: float
    absorbed: Floats
    left_out: Floats | None = None


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
    less = np.expm1(z)
    small = z > -1e-4
    if not small.any():
        first = less / z
        return np.exp(z), first, (first - 1.0) / z
    safe = np.where(small, -1.0, z)
    first = np.where(small, 1.0 + z / 2.0 + z * z / 6.0, less / safe)
    second = np.where(small, 0.5 + z / 6.0 + z * z / 24.0, (less / safe - 1.0) / safe)
    return np.exp(z), first, second


@dataclass(frozen=True)
class _Moment:
    """The plate at a time: its modes, and by how much its loss falls short of the reference.

    `flux` is that in every cell, shape (i, j, m) [W/m²], `source` what it gives to the modes.
    """

    second: float
    u: Floats
    flux: Floats
    source: Floats


@dataclass(frozen=True)
class _Step:
    """A step: the modes at each time within it, its end, and by how much it was mended."""

    u: Floats
    end: _Moment
    mended_K: float


@dataclass(frozen=True)
class _Plate:
    """What steps are made of: the modes, the loss, and the temperature at the start."""

    modes: Modes
    loss: Loss
    start_C: Floats

    def moment(self, second: float, u: Floats, foreseen: Floats) -> _Moment:
        """The plate at a time, its loss as it is at the modes that were foreseen for it."""
        excess = self.modes.field(foreseen)
        if max(float(excess.max()), -float(excess.min())) > MOST_K:  # steps stay stable beyond it
            excess = np.clip(excess, -MOST_K, MOST_K)
        flux = LOSS_REFERENCE * excess
        flux -= self.loss(excess + self.start_C)
        return _Moment(second, u, flux, self.modes.project(flux))

    def step(
        self, before: _Moment | None, begin: _Moment, absorbed: Floats | float, ends_s: Floats
    ) -> _Step:
        """From a moment to the last of the ends: foreseen from that before, then mended there."""
        seconds = (ends_s - begin.second)[:, None, None, None]
        decay, first, second = phi(-self.modes.rate[:, :, None] * seconds)
        second *= seconds * (seconds / seconds[-1])
        u = decay * begin.u + (seconds * first) * (absorbed + begin.source)
        foreseen, change = u[-1], np.zeros(())
        if before is not None:
            share = float(seconds[-1, 0, 0, 0]) / (begin.second - before.second)
            foreseen = foreseen + second[-1] * (share * (begin.source - before.source))
            change = share * (begin.flux - before.flux)
        there = self.moment(float(ends_s[-1]), u[-1], foreseen)
        mended = float(np.max(np.abs(there.flux - begin.flux - change)))
        mended *= float(second[-1].max() / self.modes.plate.capacity.min())
        u += second * (there.source - begin.source)
        return _Step(u, there, mended)


def _longer(mended_K: float) -> float:
    """How many times as long a step may be, by what the last one mended, of third order in it."""
    wanted = 0.8 * float(TOLERANCE_K / max(mended_K, 1e-9)) ** (1.0 / 3.0)
    return float(min(max(wanted, SHORTER), LONGER))


def _spans(
    stretches: Sequence[Stretch], times_s: Floats
) -> Iterable[tuple[int, int, Stretch | None]]:
    """Numbers of the times between which nothing is switched, and what shines there."""
    middles = 0.5 * (times_s[1:] + times_s[:-1])
    shining = [
        next((n for n, one in enumerate(stretches) if one.from_s <= middle < one.to_s), None)
        for middle in middles
    ]
    first = 0
    for number, group in itertools.groupby(shining):
        last = first + len(list(group))
        yield first, last, None if number is None else stretches[number]
        first = last


def _reach(times_s: Floats, at: int, wanted_s: float) -> int:
    """Number of the last time that a step may end at: the next at least, none past a long gap."""
    end = int(np.searchsorted(times_s, times_s[at] + wanted_s, side="right")) - 1
    long = np.flatnonzero(np.diff(times_s[at : end + 1]) > STEADY_S)
    if len(long):
        end = at + int(long[0])
    return max(end, at + 1)


def _fast(modes: Modes, stretches: Sequence[Stretch], times_s: Floats) -> Floats | float:
    """What modes that are left out add, as one mode, shape (t, p, m) [K]."""
    size = next((one.left_out.shape for one in stretches if one.left_out is not None), None)
    if size is None:
        return 0.0
    found = np.zeros((len(times_s), *size))
    for first, last, stretch in _spans(stretches, times_s):
        end = 0.0 if stretch is None or stretch.left_out is None else stretch.left_out
        decay = np.exp(-modes.beyond * (times_s[first + 1 : last + 1] - times_s[first]))
        found[first + 1 : last + 1] = end + decay[:, None, None] * (found[first] - end)
    return found


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

    stepped by an exponential method of second order that foresees the end of a step from the two
    moments before it and mends that by what the plate loses there. A step ends at one of the
    times, spans as many as its tolerance lets it, and no switch. Exact for any loss that is linear
    with the reference coefficient. Modes that are left out follow the lamps as one.

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
    Cox and Matthews 2002, equations 9 and 22 (from memory); Hochbruck M., Ostermann A. (2010) Acta
    Numerica 19, 209–286.
    """
    members, flat = len(start_C), watch.reshape(len(watch), -1)
    found = np.empty((len(times_s), len(watch), members))
    found[0] = start_C
    plate = _Plate(modes, loss, start_C)
    nothing = np.zeros((*modes.rate.shape, members))
    now = plate.moment(0.0, nothing, nothing)
    for first, last, stretch in _spans(stretches, times_s):
        before, at, wanted = None, first, 0.0
        absorbed = 0.0 if stretch is None else stretch.absorbed
        while at < last:
            if times_s[at + 1] - times_s[at] > STEADY_S:
                found[at + 1], now, at = found[at], replace(now, second=times_s[at + 1]), at + 1
                continue
            end = _reach(times_s[: last + 1], at, wanted)
            step = plate.step(before, now, absorbed, times_s[at + 1 : end + 1])
            wanted = (step.end.second - now.second) * _longer(step.mended_K)
            if step.mended_K > TOLERANCE_K and end > at + 1:
                continue
            seen = np.matmul(flat, step.u.reshape(end - at, -1, members))
            found[at + 1 : end + 1] = seen + start_C
            before, now, at = now, step.end, end
    found += _fast(modes, stretches, times_s)
    return np.ascontiguousarray(found.transpose(2, 1, 0))
