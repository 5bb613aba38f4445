"""Rows of a data sheet, and which of them no law of time and temperature can hold."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.errors import PanelwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

GAS_CONSTANT = 8.314462618
"""J/(mol K), CODATA 2018, exact to the digits shown."""
ZERO_CELSIUS = 273.15
"""K."""

ENERGY_RANGE_KJ = (35.0, 90.0)
"""Activation energies of cold- and warm-curing epoxies; outside it a row is wrong."""


class Milestone(StrEnum):
    """The figures of a data sheet, in the order in which they are reached."""

    WORK = "work"
    HANDLE = "handle"
    FULL = "full"


MILESTONES = tuple(Milestone)


class RefusedSheet(PanelwrightError):
    """Rows of a data sheet that no law of time and temperature can hold."""


@dataclass(frozen=True)
class SheetRow:
    """One figure of a data sheet.

    Parameters
    ----------
    event : Milestone
        What is reached.
    at_C : float
        Temperature of the adhesive [°C].
    time_min : float
        Time until it is reached [min].
    """

    event: Milestone
    at_C: float
    time_min: float

    def __str__(self) -> str:
        """Name the row as it stands on the sheet."""
        return f"{self.event} at {self.at_C:g} °C: {self.time_min:g} min"


def pairs(rows: Sequence[SheetRow]) -> list[tuple[SheetRow, SheetRow]]:
    """Neighbouring rows of one event, colder first.

    Parameters
    ----------
    rows : sequence of SheetRow
        Of one sheet [°C, min].

    Returns
    -------
    list of (SheetRow, SheetRow)
    """
    found = []
    for event in MILESTONES:
        same = sorted((r for r in rows if r.event is event), key=lambda r: (r.at_C, -r.time_min))
        found += list(itertools.pairwise(same))
    return found


def _pair_energy(cold: SheetRow, warm: SheetRow) -> float:
    inverse = 1 / (cold.at_C + ZERO_CELSIUS) - 1 / (warm.at_C + ZERO_CELSIUS)
    return GAS_CONSTANT / 1e3 * math.log(cold.time_min / warm.time_min) / inverse


def refuse_growing(rows: Sequence[SheetRow]) -> None:
    """Refuse a time that does not fall with temperature.

    Parameters
    ----------
    rows : sequence of SheetRow
        Of one sheet [°C, min].

    Raises
    ------
    RefusedSheet
        Naming the rows.
    """
    for cold, warm in pairs(rows):
        if warm.at_C > cold.at_C and warm.time_min >= cold.time_min:
            raise RefusedSheet(
                f"“{warm}” takes as long as or longer than “{cold}”: warmer adhesive cures faster. "
                f"Read the row again."
            )
        if warm.at_C == cold.at_C and warm.time_min != cold.time_min:
            raise RefusedSheet(
                f"“{cold}” and “{warm}” give two times for one temperature. Keep the right one."
            )


def refuse_order(rows: Sequence[SheetRow]) -> None:
    """Refuse work, handle and full at one temperature in the wrong order.

    Parameters
    ----------
    rows : sequence of SheetRow
        Of one sheet [°C, min].

    Raises
    ------
    RefusedSheet
        Naming the rows.
    """
    for first, later in itertools.permutations(rows, 2):
        reached_earlier = MILESTONES.index(first.event) < MILESTONES.index(later.event)
        if reached_earlier and first.at_C == later.at_C and first.time_min >= later.time_min:
            raise RefusedSheet(
                f"“{later}” comes no later than “{first}”; work, handle and full are reached in "
                f"that order. Read both rows again."
            )


def refuse_physics(rows: Sequence[SheetRow]) -> None:
    """Refuse temperatures at which no adhesive cures.

    Parameters
    ----------
    rows : sequence of SheetRow
        Of one sheet [°C, min].

    Raises
    ------
    RefusedSheet
        Naming the rows.
    """
    for row in rows:
        if not -50.0 <= row.at_C <= 300.0:
            raise RefusedSheet(
                f"“{row}”: no adhesive cures at {row.at_C:g} °C; −50 to 300 °C was expected."
            )


def refuse_energy(rows: Sequence[SheetRow], energy_kJ_mol: float) -> None:
    """Refuse an activation energy that no epoxy has.

    Parameters
    ----------
    rows : sequence of SheetRow
        Of one sheet [°C, min].
    energy_kJ_mol : float
        Of the whole sheet [kJ/mol].

    Raises
    ------
    RefusedSheet
        Naming the rows.
    """
    low, high = ENERGY_RANGE_KJ
    if low <= energy_kJ_mol <= high:
        return
    wide = [(c, w, _pair_energy(c, w)) for c, w in pairs(rows) if w.at_C > c.at_C]
    cold, warm, energy = max(wide, key=lambda p: max(low - p[2], p[2] - high))
    raise RefusedSheet(
        f"“{cold}” and “{warm}” would mean an activation energy of {energy:.0f} kJ/mol, and the "
        f"whole sheet {energy_kJ_mol:.0f} kJ/mol; {low:g} to {high:g} was expected of an epoxy. "
        f"Read both rows again."
    )


def odd_rows(rows: Sequence[SheetRow]) -> tuple[str, ...]:
    """Sentences on pairs of rows whose own energy lies outside the range of epoxies.

    Parameters
    ----------
    rows : sequence of SheetRow
        Of one sheet [°C, min].

    Returns
    -------
    tuple of str
        Sentences; none where all pairs are sensible.
    """
    low, high = ENERGY_RANGE_KJ
    return tuple(
        f"“{cold}” and “{warm}” alone would mean {energy:.0f} kJ/mol ({low:g} to {high:g} was "
        f"expected): read both again."
        for cold, warm in pairs(rows)
        if warm.at_C > cold.at_C and not low <= (energy := _pair_energy(cold, warm)) <= high
    )
