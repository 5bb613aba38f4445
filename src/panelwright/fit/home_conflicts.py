"""Sources of one point's home against each other: twin, sheet, before, sister vehicle."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.body_answer import HomeCheck, HomeSource
from panelwright.fit.snooping import chi_square_quantile
from panelwright.fit.spread import vector
from panelwright.fit.words import displacement_words
from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.homes import Home
    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]

FALSE_ALARM = 0.001
"""Of one comparison."""
SAID_IN_U = 2.0
"""A direction in which the sources differ by less than so many of its u is not said."""
SOURCES = {
    "twin": "the mirror image of its twin",
    "xyz": "the dimension sheet",
    "before": "the old part before it came off",
    "sister": "the sister vehicle",
}


def home_checks(network: Network, adjusted: Adjusted, placed: Placed) -> tuple[HomeCheck, ...]:
    """Every two sources of every home that has more than one, worst first.

    d = h₂ − h₁ with its covariance C from the network and the shapes of both; dᵀ C⁻¹ d is
    chi-square with as many degrees of freedom as axes are known to both.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.

    Returns
    -------
    tuple of HomeCheck
        Those whose sources the readings leave open are left out.
    """
    checks = [
        check
        for home in network.homes.values()
        for one, other in combinations(home.of, 2)
        if (check := _against(one, other, network, adjusted, placed)) is not None
    ]
    return tuple(sorted(checks, key=lambda check: -check.statistic / check.high))


def _at(home: Home, network: Network, placed: Placed) -> tuple[Floats, Floats]:
    """Where a source says that the point belongs, shape (3,), and its derivative, (3, u)."""
    number, mirror = network.number[home.source], np.array(home.mirror)
    return mirror * placed.xyz[number], mirror[:, None] * placed.follow[number]


def _against(
    one: Home, other: Home, network: Network, adjusted: Adjusted, placed: Placed
) -> HomeCheck | None:
    (here, follow), (there, other_follow) = (_at(home, network, placed) for home in (one, other))
    between = other_follow - follow
    shape = np.array([one.shape_u_mm, other.shape_u_mm])
    known = np.isfinite(shape).all(axis=0)
    if adjusted.leaves_open(between).any() or not known.any():
        return None
    covariance = between @ adjusted.covariance @ between.T
    covariance += np.diag(np.where(known, np.sum(shape**2, axis=0), 0.0))
    difference = np.where(known, there - here, 0.0)
    inner = covariance[np.ix_(known, known)]
    statistic = float(difference[known] @ np.linalg.pinv(inner, hermitian=True) @ difference[known])
    high = chi_square_quantile(1.0 - FALSE_ALARM, int(known.sum()))
    u_mm = np.where(known, np.sqrt(np.diagonal(covariance)), 0.0)
    first = HomeSource(one.kind, vector(here), _u(follow, adjusted, shape[0]))
    second = HomeSource(other.kind, vector(there), _u(other_follow, adjusted, shape[1]))
    ok = statistic <= high
    check = HomeCheck(
        point=one.point,
        one=first,
        other=second,
        difference_mm=vector(difference),
        u_mm=vector(u_mm),
        statistic=statistic,
        high=high,
        ok=ok,
        words="",
    )
    return replace(check, words=conflict_words(check))


def _u(
    follow: Floats, adjusted: Adjusted, shape: Floats
) -> tuple[float | None, float | None, float | None]:
    variances = np.einsum("au,uv,av->a", follow, adjusted.covariance, follow)
    x, y, z = (
        None if np.isinf(s) else float(np.sqrt(max(v, 0.0) + s * s))
        for v, s in zip(variances, shape, strict=True)
    )
    return (x, y, z)


def conflict_words(check: HomeCheck, units: Units = Units.MM) -> str:
    """What two sources say of one point, and by how much they differ.

    Parameters
    ----------
    check : HomeCheck
    units : Units
        Of the page.

    Returns
    -------
    str
        Such as "L5 belongs at 3760.0, −968.0, 1990.0 mm by the mirror image of its twin, at
        3765.0, −968.0, 1990.0 mm by the dimension sheet: 5.0 mm rearward (u 1.4 mm) is more than
        both allow; find out which is right before the panel is judged by them".
    """
    one, other = (
        f"at {_place(source, units)} by {SOURCES[source.home]}"
        for source in (check.one, check.other)
    )
    said = f"{check.point} belongs {one}, {other}"
    if check.ok:
        return f"{said}: they agree"
    off, u = np.array(check.difference_mm), np.array(check.u_mm)
    worst = int(np.argmax(np.abs(off) / np.where(u > 0.0, u, np.inf)))
    told = np.where(np.abs(off) > SAID_IN_U * u, off, 0.0)
    told[worst] = off[worst]
    return (
        f"{said}: {displacement_words(told, units)} (u {show_length(float(u[worst]), units)}) is "
        "more than both allow; find out which is right before the panel is judged by them"
    )


def _place(source: HomeSource, units: Units) -> str:
    shown = [show_length(value, units) for value in source.xyz_mm]
    unit = shown[0].partition(" ")[2]
    return f"{', '.join(text.partition(' ')[0] for text in shown)} {unit}"
