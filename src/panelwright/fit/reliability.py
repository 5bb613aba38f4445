"""How well the readings check each other: the smallest error in each that would be noticed.

References
----------
W. Baarda, A Testing Procedure for Use in Geodetic Networks, Netherlands Geodetic Commission, 1968:
test at 0.1 % with a power of 80 %, δ₀ = 4.13 (seen in public code that cites it).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from panelwright.fit.snooping import CRITICAL_W
from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.reading_answer import ReadingRow

    Floats = NDArray[np.float64]

POWER = 0.8
"""Chance of noticing the smallest error that is said to be noticed."""
DELTA_0 = 4.1321
"""Shift of w that the test at 0.1 % notices with that chance: 3.2905 + 0.8416."""
LEAST_CHECKED = 0.01
"""Redundancy below which a reading counts as not checked: an error of 41 u would pass.

W. Förstner, 1979, as taught: below 0.01 not checked, to 0.1 poorly, above 0.3 well (from memory).
"""
POORLY_CHECKED = 0.1
MOST_NAMED = 4


def smallest_errors(redundancy: Floats, u_mm: Floats) -> Floats:
    """Smallest gross error of each reading that is noticed in 80 of 100 cases.

    ∇ = δ₀ u / √r.

    Parameters
    ----------
    redundancy : array, shape (m,)
        0 to 1 [1].
    u_mm : array, shape (m,)
        Standard uncertainty of the readings, above 0 [mm].

    Returns
    -------
    array, shape (m,)
        Infinite where the redundancy is below `LEAST_CHECKED` [mm].

    References
    ----------
    W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968 (seen in public code).

    Examples
    --------
    >>> smallest_errors(np.array([0.25]), np.array([1.0])).round(2).tolist()
    [8.26]
    """
    checked = redundancy >= LEAST_CHECKED
    root = np.sqrt(np.where(checked, redundancy, 1.0))
    errors: Floats = np.where(checked, DELTA_0 * u_mm / root, np.inf)
    return errors


def chance_of_notice(error_mm: float, redundancy: float, u_mm: float) -> float:
    """Chance that the test of one reading notices a gross error in it.

    w is then normal about √r·error/u with standard deviation 1; noticed where |w| > 3.2905.

    Parameters
    ----------
    error_mm : float
        [mm]
    redundancy : float
        0 to 1 [1].
    u_mm : float
        Above 0 [mm].

    Returns
    -------
    float
        0 to 1 [1].

    References
    ----------
    W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968 (from memory).

    Examples
    --------
    >>> round(chance_of_notice(4.1321, 1.0, 1.0), 3)
    0.8
    """
    shift = np.sqrt(redundancy) * error_mm / u_mm
    return float(ndtr(shift - CRITICAL_W) + ndtr(-shift - CRITICAL_W))


def check_words(rows: tuple[ReadingRow, ...], units: Units = Units.MM) -> tuple[str, ...]:
    """What the readings do not check among themselves, in sentences.

    Parameters
    ----------
    rows : tuple of ReadingRow
    units : Units
        Of the page.

    Returns
    -------
    tuple of str
        None where every reading is checked well enough.
    """
    said = []
    unchecked = list(dict.fromkeys(row.about for row in rows if not row.checked))
    if unchecked:
        said.append(
            f"Nothing checks {_named(unchecked)}: a misreading there would not be noticed. Read "
            f"{'it' if len(unchecked) == 1 else 'each'} twice, the second time from the other end."
        )
    poorly = sorted(
        (row for row in rows if row.checked and row.redundancy < POORLY_CHECKED),
        key=lambda row: -(row.mdb_mm or 0.0),
    )
    if poorly:
        worst = poorly[0]
        least = show_length(worst.mdb_mm or 0.0, units)
        more = f" ({len(poorly) - 1} more are checked as poorly)" if len(poorly) > 1 else ""
        said.append(
            f"Poorly checked: {worst.about}; an error below {least} there may pass unnoticed{more}."
        )
    return tuple(said)


def _named(names: list[str]) -> str:
    """The first few names, and how many more there are."""
    shown = names[:MOST_NAMED]
    if len(names) > MOST_NAMED:
        shown.append(f"{len(names) - MOST_NAMED} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
