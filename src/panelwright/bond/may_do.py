"""What may be done to a joint now, and what not before when."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.bond.sheet import curing_limit
from panelwright.quantities import Units, show_minutes, show_stress, show_temperature
from panelwright.sources import Source
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from panelwright.bond.answer import Band, BondAnswer, JointBond
    from panelwright.facts.models.bonding import Adhesive
    from panelwright.facts.repair import Repair


class May(StrEnum):
    """Whether a thing may be done."""

    YES = "yes"
    LATER = "not before"
    ASK = "not known"
    NO = "no"


WORST = (May.YES, May.LATER, May.ASK, May.NO)
"""Of several joints the last of these counts."""


@dataclass(frozen=True)
class MayDo:
    """One thing that somebody wants to do to a joint that cures.

    Parameters
    ----------
    id, words : str
        What it is.
    may : May
    state : str
        The state of the bond that it needs, in words.
    joint : str
        The joint that decides.
    at : datetime or None
        Late bound of when that state is reached; None where no clock runs or no time is known.
    after_min : float or None
        The same in minutes from closing, where the joint is not closed yet [min].
    why : str
        What is missing, or what forbids it; empty where the time says it all.
    caution : str
    source : Source
    """

    id: str
    words: str
    may: May
    state: str
    joint: str
    at: datetime | None = None
    after_min: float | None = None
    why: str = ""
    caution: str = ""
    source: Source | None = None


@dataclass(frozen=True)
class _Need:
    """A state of the bond, and when it is reached."""

    state: str
    band: Band | None
    missing: str
    no: str = ""


def may_do(
    repair: Repair, answer: BondAnswer, joints: Sequence[str], now: datetime
) -> tuple[MayDo, ...]:
    """What may be done to some joints now; where they differ, the one that is last decides.

    Times are late bounds: before them it hurts.

    Parameters
    ----------
    repair : Repair
        With adhesives, and the metal temperature of the shop's paint oven.
    answer : BondAnswer
        The room's.
    joints : sequence of str
        Ids of bonded joints; none gives nothing.
    now : datetime
        With its offset.

    Returns
    -------
    tuple of MayDo
        One for each row of the table ``may_do``.

    References
    ----------
    Table ``may_do``: common practice, no source; the data sheet and the maker's procedure govern.
    """
    bonds = [bond for bond in answer.joints if bond.joint in set(joints)]
    if not bonds:
        return ()
    table = load("may_do")
    found = []
    for row in table.records():
        needs, words = str(row["needs"]), str(row["words"])
        each = [_one(repair, bond, needs, now) for bond in bonds]
        worst = max(each, key=_rank)
        caution = str(row["caution"] or "")
        named = replace(worst, id=str(row["id"]), words=words, caution=caution)
        found.append(replace(named, source=table.source))
    return tuple(found)


def begun(answer: BondAnswer) -> tuple[str, ...]:
    """The joints on which adhesive is, or was.

    Parameters
    ----------
    answer : BondAnswer
        The room's.

    Returns
    -------
    tuple of str
        Ids.
    """
    return tuple(
        bond.joint
        for bond in answer.joints
        if bond.clock.bead_begun is not None or bond.clock.closed is not None
    )


def _rank(one: MayDo) -> tuple[int, float, float]:
    at = one.at.timestamp() if one.at is not None else math.inf
    return WORST.index(one.may), at, one.after_min or 0.0


def _one(repair: Repair, bond: JointBond, needs: str, now: datetime) -> MayDo:
    need = _need(repair, bond, needs)
    blank = MayDo("", "", May.ASK, need.state, bond.joint)
    if need.no:
        return replace(blank, may=May.NO, why=need.no)
    if need.band is None:
        return replace(blank, why=need.missing)
    if bond.clock.closed is None:
        return replace(blank, may=May.LATER, after_min=need.band.late, why=need.missing)
    at = bond.clock.closed + timedelta(minutes=need.band.late)
    may = May.LATER if now < at else May.YES
    return replace(blank, may=may, at=at, why=need.missing)


def _need(repair: Repair, bond: JointBond, needs: str) -> _Need:
    unknown = "no time is known for it: ask the adhesive's maker"
    adhesive = _adhesive(repair, bond)
    full = _state("full strength", _lap_shear(adhesive))
    if needs == "handle":
        state = _state("handling strength", _handling(adhesive))
        return _Need(state, bond.handle_min, "" if bond.handle_min else unknown)
    if needs == "half":
        if bond.half_min is None:
            words = "no strength curve: full strength is waited for" if bond.full_min else unknown
            return _Need(full, bond.full_min, words)
        half = _lap_shear(adhesive)
        state = _state("half of full strength", None if half is None else half / 2.0)
        return _Need(state, bond.half_min, "")
    if needs == "full":
        return _Need(full, bond.full_min, "" if bond.full_min else unknown)
    return _bake(repair, bond)


def _adhesive(repair: Repair, bond: JointBond) -> Adhesive | None:
    joint = repair.joint_by_id.get(bond.joint)
    return repair.adhesive_of(joint) if joint is not None else None


def _lap_shear(adhesive: Adhesive | None) -> float | None:
    shear = adhesive.lap_shear if adhesive is not None else None
    return shear.MPa if shear is not None else None


def _handling(adhesive: Adhesive | None) -> float | None:
    """What the sheet means by handling, where it says so [MPa]."""
    rows = adhesive.time if adhesive is not None else ()
    given = [row.strength.MPa for row in rows if row.event == "handle" and row.strength]
    return min(given, default=None)


def _state(words: str, strength_MPa: float | None) -> str:
    """A state of the bond, with its lap shear where the data sheet gives it."""
    if strength_MPa is None:
        return words
    return f"{words} ({show_stress(strength_MPa, Units.MM)} lap shear)"


def _bake(repair: Repair, bond: JointBond) -> _Need:
    """Before full cure the curing limit counts, after it the limit of the cured adhesive."""
    adhesive = _adhesive(repair, bond)
    if adhesive is None:
        return _Need("", None, "no adhesive is named for it: ask the maker")
    oven = repair.shop.bake
    if oven is None:
        return _Need(
            "",
            None,
            f"how warm metal gets in the paint oven is not said; {limits_of(adhesive)}",
        )
    curing_C, assumed = curing_limit(adhesive)
    baked_C = adhesive.bake_limit.celsius if adhesive.bake_limit is not None else None
    metal = _degrees(oven.celsius)
    if oven.celsius <= curing_C and bond.handle_min is not None:
        words = f"{metal} in the oven, {_degrees(curing_C)} is the limit while it cures"
        words += " (assumed)" if assumed else ""
        return _Need("handling strength", bond.handle_min, words)
    if baked_C is not None and oven.celsius > baked_C:
        return _Need("", None, "", f"{metal} in the oven is above its {_degrees(baked_C)}")
    if baked_C is None:
        words = f"{metal} in the oven, and its limit once cured is not given: ask its maker"
        return _Need("full strength", None, words)
    words = f"{metal} in the oven, {_degrees(baked_C)} is the limit once cured"
    return _Need("full strength", bond.full_min, words)


def limits_of(adhesive: Adhesive) -> str:
    """What an adhesive stands in the oven, in words.

    Parameters
    ----------
    adhesive : Adhesive
        With its limits.

    Returns
    -------
    str
        Half a sentence.
    """
    curing_C, assumed = curing_limit(adhesive)
    once = adhesive.bake_limit
    cured = "ask its maker" if once is None else f"at most {_degrees(once.celsius)}"
    taken = " (assumed, common practice)" if assumed else ""
    return f"at most {_degrees(curing_C)}{taken} while it cures, {cured} once cured"


def _degrees(celsius: float) -> str:
    return show_temperature(celsius, Units.MM)


def lines(found: Iterable[MayDo]) -> tuple[tuple[str, str], ...]:
    """Each thing with its verdict in words, without times of day.

    Parameters
    ----------
    found : iterable of MayDo
        As `may_do` gives them.

    Returns
    -------
    tuple of (str, str)
        What it is, and what is said of it.
    """
    said = []
    for one in found:
        words = one.may.value
        if one.may is May.LATER and one.at is None and one.after_min is not None:
            words = f"not before {show_minutes(math.ceil(one.after_min))} after the panel is on"
        said.append((one.words, words))
    return tuple(said)
