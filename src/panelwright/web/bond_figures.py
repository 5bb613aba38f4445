"""Times, temperatures and advice of bonded joints, as the pages Bond and Cure show them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.bond.advice import LAMP_CAUTIONS
from panelwright.bond.answer import Fit
from panelwright.quantities import (
    Units,
    show_length,
    show_minutes,
    show_stress,
    show_temperature,
)
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.bond.answer import Band, BondAnswer, JointBond, LimitCheck
    from panelwright.facts.models.bonding import Adhesive, AdhesiveTime
    from panelwright.facts.repair import Repair

NOTHING = "–"


@dataclass(frozen=True)
class Times:
    """A row of the table of times: joints that are alike share it."""

    joints: str
    work: str
    handle: tuple[str, str, str]
    full: tuple[str, str, str]

    @property
    def known(self) -> bool:
        """Tell whether any of them is known."""
        return any(one != NOTHING for one in (self.work, *self.handle, *self.full))


@dataclass(frozen=True)
class Heat:
    """How hot a joint gets under its lamp."""

    label: str
    sign: Sign
    word: str
    hottest: str
    limit: str
    chance: str
    coldest: str


def times(bonds: Iterable[JointBond], names: Mapping[str, str]) -> tuple[Times, ...]:
    """Give work, handling and full times; joints that are alike in one row."""
    alike: dict[tuple[str, tuple[str, str, str], tuple[str, str, str]], list[str]] = {}
    for bond in bonds:
        said = (_early(bond.work_until_min), _band(bond.handle_min), _band(bond.full_min))
        alike.setdefault(said, []).append(names.get(bond.joint, bond.joint))
    return tuple(Times(", ".join(some), *said) for said, some in alike.items())


def _early(minutes: float | None) -> str:
    """A time that must not come out too long."""
    return NOTHING if minutes is None else show_minutes(math.floor(minutes))


def _band(band: Band | None) -> tuple[str, str, str]:
    if band is None:
        return (NOTHING, NOTHING, NOTHING)
    return (_early(band.early), show_minutes(band.likely), show_minutes(math.ceil(band.late)))


def heats(bonds: Iterable[JointBond], names: Mapping[str, str], units: Units) -> tuple[Heat, ...]:
    """Give how hot each joint under a lamp gets."""
    return tuple(
        _heat(bond, names.get(bond.joint, bond.joint), units)
        for bond in bonds
        if bond.stays and bond.hottest_C is not None
    )


def _heat(bond: JointBond, label: str, units: Units) -> Heat:
    over = {True: (Sign.BAD, "too hot"), False: (Sign.GOOD, "below the limit")}
    sign, word = over[bond.over_limit] if bond.over_limit is not None else (Sign.ASK, "no limit")
    hottest = show_temperature(bond.hottest_C or 0.0, units)
    if bond.hottest_at_min is not None:
        hottest += f" at minute {bond.hottest_at_min:.0f}"
    return Heat(
        label,
        sign,
        word,
        hottest,
        NOTHING if bond.limit_C is None else show_temperature(bond.limit_C, units),
        _chance(bond.p_over_limit),
        NOTHING if bond.coldest_mm is None else show_length(bond.coldest_mm, units),
    )


def _chance(p: float | None) -> str:
    """Say a chance that was counted among 256 members: none of them is not never."""
    if p is None:
        return NOTHING
    return "below 1 %" if p < 0.01 else f"{100.0 * p:.0f} %"


def advice(answer: BondAnswer) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give what to do, and the cautions of lamps apart."""
    told = [words for words in answer.advice if words not in LAMP_CAUTIONS]
    return tuple(told), tuple(words for words in answer.advice if words in LAMP_CAUTIONS)


EVENTS = {"work": "work time", "handle": "handling strength after", "full": "full cure after"}


@dataclass(frozen=True)
class Sheet:
    """An adhesive as it is entered: its data sheet line by line."""

    id: str
    label: str
    words: tuple[str, ...]

    @property
    def choice(self) -> tuple[str, str]:
        """Give it as a choice among several."""
        return self.id, self.label


LIMIT_BADGES = {
    Fit.YES: (Sign.GOOD, "within"),
    Fit.NO: (Sign.BAD, "not within"),
    Fit.UNKNOWN: (Sign.ASK, "open"),
}


def limits(
    answer: BondAnswer, names: Mapping[str, str]
) -> tuple[tuple[tuple[Sign, str], LimitCheck, str], ...]:
    """Give each limit of surface and air with its badge and the joints that it is of."""
    found: dict[LimitCheck, list[str]] = {one: [] for one in answer.surface.limits}
    for joint in answer.joints:
        for one in joint.limits:
            found.setdefault(one, []).append(names.get(joint.joint, joint.joint))
    return tuple((LIMIT_BADGES[one.fit], one, ", ".join(of)) for one, of in found.items())


def sheets(repair: Repair, units: Units) -> tuple[Sheet, ...]:
    """Give the adhesives of a repair with what is entered of their data sheets."""
    return tuple(
        Sheet(glue.id, glue.name or glue.id, tuple(_sheet(glue, units)))
        for glue in repair.adhesives
    )


def _sheet(glue: Adhesive, units: Units) -> Iterable[str]:
    if glue.batch or glue.use_by:
        batch = f"batch {glue.batch}" if glue.batch else "batch not given"
        yield f"{batch}, use by {glue.use_by}" if glue.use_by else batch
    if glue.limit:
        yield f"never above {show_temperature(glue.limit.celsius, units)} while it cures"
    if glue.bake_limit:
        yield f"never above {show_temperature(glue.bake_limit.celsius, units)} in the paint oven"
    if glue.prepared_within:
        yield f"bead within {show_minutes(glue.prepared_within.minutes)} of preparing"
    yield from (_figure(row, units) for row in glue.time)
    if not glue.time:
        yield "no time is entered yet"


def _figure(row: AdhesiveTime, units: Units) -> str:
    strength = f", {show_stress(row.strength.MPa, units)} by then" if row.strength else ""
    at = show_temperature(row.at.celsius, units)
    return f"{EVENTS[row.event]} {show_minutes(row.time.minutes)} at {at}{strength}"
