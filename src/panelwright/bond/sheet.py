"""An adhesive's data sheet: its law, strengths and limit, or why it cannot be read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.bond.answer import Law
from panelwright.bond.arrhenius import CureLaw, fit_cure_law
from panelwright.bond.posterior import COMMON_ENERGY_KJ, COMMON_ENERGY_U_KJ
from panelwright.bond.rows import MILESTONES, Milestone, RefusedSheet, SheetRow, odd_rows
from panelwright.bond.strength import HANDLING_MPa
from panelwright.sources import Basis, Mark, Source
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.facts.models.bonding import Adhesive


@dataclass(frozen=True)
class Sheet:
    """What the room needs of a data sheet.

    Parameters
    ----------
    law : CureLaw
        Of time and temperature.
    handle_MPa, full_MPa : float or None
        Lap shear at handling and at full cure [MPa]; None: no strength can be drawn.
    limit_C : float
        Highest temperature while curing [°C].
    """

    adhesive: str
    law: CureLaw
    rows: int
    handle_MPa: float | None
    full_MPa: float | None
    limit_C: float
    notes: tuple[str, ...]
    sources: tuple[Source, ...]

    @property
    def spoken(self) -> Law:
        """The law as the answer shows it."""
        law = self.law
        words = (
            f"the sheet gives one temperature only: {law.energy_kJ_mol:.0f} ± "
            f"{law.energy_u_kJ_mol:.0f} kJ/mol is assumed and the band is wide"
            if law.assumed
            else f"one activation energy over all rows: {law.energy_kJ_mol:.1f} ± "
            f"{law.energy_u_kJ_mol:.1f} kJ/mol (the rows alone say {law.alone_kJ_mol:.1f}; epoxies "
            f"have {COMMON_ENERGY_KJ:g} ± {COMMON_ENERGY_U_KJ:g} [from memory])"
        )
        return Law(
            self.adhesive,
            law.energy_kJ_mol,
            law.energy_u_kJ_mol,
            law.assumed,
            self.rows,
            law.low_C,
            law.high_C,
            words,
        )


def _assumed_energy_note(adhesive: str) -> str:
    return (
        f"{adhesive}: the sheet gives one temperature only; {COMMON_ENERGY_KJ:g} ± "
        f"{COMMON_ENERGY_U_KJ:g} kJ/mol is assumed [from memory]. A second temperature from the "
        f"sheet narrows the times."
    )


def _law_notes(adhesive: str, rows: list[SheetRow], law: CureLaw) -> list[str]:
    notes = [f"{adhesive}: {sentence}" for sentence in odd_rows(rows)]
    if law.assumed:
        notes.append(_assumed_energy_note(adhesive))
    missing = [event.value for event in MILESTONES if event not in law.events]
    if missing:
        notes.append(
            f"{adhesive}: the sheet gives no time for {' and '.join(missing)}; none is shown."
        )
    return notes


def _strengths(adhesive: Adhesive, law: CureLaw) -> tuple[float | None, float | None, list[str]]:
    """Handling and full strength and what had to be assumed."""
    both = Milestone.HANDLE in law.events and Milestone.FULL in law.events
    if not both or adhesive.lap_shear is None:
        what = "lap_shear" if both else "both handle and full times"
        return None, None, [f"{adhesive.id}: no strength curve without {what} from the sheet."]
    given = [r.strength.MPa for r in adhesive.time if r.event == "handle" and r.strength]
    handle, full = min(given, default=HANDLING_MPa), adhesive.lap_shear.MPa
    if handle >= 0.9 * full:
        odd = f"{handle:g} MPa at handling is not well below lap_shear {full:g} MPa"
        return None, None, [f"{adhesive.id}: {odd}; read both again. No strength curve is drawn."]
    if given:
        return handle, full, []
    return (
        handle,
        full,
        [
            (
                f"{adhesive.id}: no strength at handling on the sheet; {handle:g} MPa is assumed "
                f"[from memory]."
            )
        ],
    )


def curing_limit(adhesive: Adhesive) -> tuple[float, bool]:
    """Highest temperature while an adhesive cures, and whether it had to be assumed.

    Parameters
    ----------
    adhesive : Adhesive
        With its limit [°C], or none.

    Returns
    -------
    float
        [°C]
    bool

    References
    ----------
    Table ``bonding_air`` where the sheet gives none: common practice, no source.
    """
    if adhesive.limit is not None:
        return adhesive.limit.celsius, False
    return load("bonding_air").number(0, "limit_assumed"), True


def _limit(adhesive: Adhesive) -> tuple[float, list[str]]:
    limit_C, assumed = curing_limit(adhesive)
    words = (
        f"{adhesive.id}: no curing limit on the sheet; {limit_C:g} °C is assumed (common "
        f"practice, no source)."
    )
    return limit_C, [words] if assumed else []


def _sources(adhesive: Adhesive) -> tuple[Source, ...]:
    words = adhesive.source or f"data sheet of {adhesive.id} as entered"
    found = [Source(Basis.DATA_SHEET, words)]
    found.append(
        Source(Basis.PUBLISHED, "Horie et al. 1970, energy of epoxy with amine", Mark.MEMORY)
    )
    return tuple(found)


def read_sheet(adhesive: Adhesive) -> Sheet:
    """Read an adhesive's data sheet.

    Parameters
    ----------
    adhesive : Adhesive
        With its time rows [°C, min], lap shear [MPa] and limit [°C].

    Returns
    -------
    Sheet

    Raises
    ------
    RefusedSheet
        No law holds the rows; the message names them.

    References
    ----------
    `panelwright.bond.arrhenius.fit_cure_law`.
    """
    rows = [SheetRow(Milestone(r.event), r.at.celsius, r.time.minutes) for r in adhesive.time]
    law = fit_cure_law(rows)
    handle, full, strength_notes = _strengths(adhesive, law)
    limit_C, limit_notes = _limit(adhesive)
    notes = (*_law_notes(adhesive.id, rows, law), *strength_notes, *limit_notes)
    return Sheet(adhesive.id, law, len(rows), handle, full, limit_C, notes, _sources(adhesive))


def outside_sheet(sheet: Sheet, *, coldest_C: float, hottest_C: float) -> tuple[str, ...]:
    """Sentences where the joint goes beyond the temperatures that the sheet speaks of.

    Parameters
    ----------
    sheet : Sheet
        With its lowest and highest temperature.
    coldest_C, hottest_C : float
        Of the joint while it cures [°C].

    Returns
    -------
    tuple of str
        Sentences; none where the sheet covers the joint.
    """
    found = []
    law, slow = sheet.law, load("bonding_air").number(0, "slow_below")
    if coldest_C < law.low_C - 0.5:
        found.append(
            f"{coldest_C:.0f} °C is below the sheet's lowest {law.low_C:.0f} °C: the time there is "
            f"an extrapolation."
        )
    if hottest_C > law.high_C + 0.5:
        found.append(
            f"{hottest_C:.0f} °C is above the sheet's highest {law.high_C:.0f} °C: the time there "
            f"is an extrapolation."
        )
    if coldest_C < slow and not math.isclose(coldest_C, slow):
        found.append(
            f"Below {slow:g} °C epoxy hardly cures and may stop short of full strength: warm the "
            f"joint [from memory]."
        )
    return tuple(found)


__all__ = ["RefusedSheet", "Sheet", "curing_limit", "outside_sheet", "read_sheet"]
