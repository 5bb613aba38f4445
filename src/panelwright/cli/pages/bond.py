"""The bond page: until when to work, when it holds, and how warm it gets."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from panelwright.bond.advice import grouped, notes_of
from panelwright.bond.limits import check_words
from panelwright.bond.may_do import May
from panelwright.cli.text import bullets, heading, table
from panelwright.cli.text import page as laid_out
from panelwright.plan.closing_words import lines
from panelwright.quantities import show_length, show_minutes, show_stress, show_temperature
from panelwright.sources import largest, marks, merge

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from panelwright.bond.answer import Band, BondAnswer, JointBond, Moments
    from panelwright.bond.may_do import MayDo
    from panelwright.plan.closing_answer import Closing
    from panelwright.quantities import Units

NOTHING = "–"


def _minutes(value: float | None) -> str:
    """A time that must not come out too long."""
    return NOTHING if value is None else show_minutes(math.floor(value))


def _late_minutes(value: float) -> str:
    """A time that must not come out too short."""
    return show_minutes(math.ceil(value))


def _band(band: Band | None) -> tuple[str, str, str]:
    if band is None:
        return (NOTHING, NOTHING, NOTHING)
    return (_minutes(band.early), show_minutes(band.likely), _late_minutes(band.late))


def _times(answer: BondAnswer) -> str:
    header = ("joint", "work within", "handle early", "likely", "late", "full likely", "late")
    rows = [
        (
            bond.joint,
            _minutes(bond.work_until_min),
            *_band(bond.handle_min),
            *_band(bond.full_min)[1:],
        )
        for bond in answer.joints
    ]
    return laid_out(
        heading("When does it hold?").lstrip("\n"),
        table(header, rows, align="<>>>>>>"),
        "",
        "Work counts from the first bead (early bound); handle and full from closing the joint.",
        "Early, likely and late are 10, 50 and 90 %.",
    )


def _heat_row(bond: JointBond, units: Units) -> tuple[str, ...]:
    if bond.hottest_C is None or bond.limit_C is None or bond.coldest_mm is None:
        return (bond.joint, *[NOTHING] * 5)
    p = bond.p_over_limit or 0.0
    chance = "below 1 %" if p < 0.01 else f"{100.0 * p:.0f} %"  # 256 members can say no less
    return (
        bond.joint,
        show_length(bond.coldest_mm, units),
        show_temperature(bond.hottest_C, units),
        show_minutes(bond.hottest_at_min or 0.0),
        show_temperature(bond.limit_C, units),
        f"{chance}{', over' if bond.over_limit else ''}",
    )


def _heat(answer: BondAnswer, units: Units) -> str:
    heated = [bond for bond in answer.joints if bond.stays]
    if not heated:
        return ""
    header = ("joint", "coldest at", "hottest", "at minute", "limit", "chance to pass it")
    rows = [_heat_row(bond, units) for bond in heated]
    return laid_out(heading("Under the lamp").lstrip("\n"), table(header, rows, align="<>>>>>"))


def _moment(moment: datetime | None, zone: ZoneInfo) -> str:
    return NOTHING if moment is None else moment.astimezone(zone).strftime("%a %Y-%m-%d %H:%M")


def _late(moments: Moments | None) -> datetime | None:
    return None if moments is None else moments.late


def _clocks(answer: BondAnswer) -> str:
    zone = ZoneInfo(answer.zone)
    rows = [
        (
            bond.joint,
            _moment(bond.clock.prepared_until, zone),
            _moment(bond.clock.work_until, zone),
            _moment(_late(bond.clock.handle), zone),
            _moment(_late(bond.clock.full), zone),
        )
        for bond in answer.joints
    ]
    rows = [row for row in rows if any(cell != NOTHING for cell in row[1:])]
    if not rows:
        return ""
    header = ("joint", "prepared, good until", "work until", "handle, latest", "full, latest")
    return laid_out(heading(f"Clocks ({answer.zone})").lstrip("\n"), table(header, rows))


def _limits(answer: BondAnswer) -> tuple[str, ...]:
    found = [(bond.joint, check_words(one)) for bond in answer.joints for one in bond.limits]
    return (*map(check_words, answer.surface.limits), *grouped(found))


def _strengths(answer: BondAnswer, units: Units) -> tuple[str, ...]:
    found = []
    for bond in answer.joints:
        at = bond.handle_min.late if bond.handle_min else None
        row = next((r for r in bond.curve if at is not None and r.minute >= at), None)
        if row is not None and row.strength_MPa_10 is not None and at is not None:
            words = (
                f"at {_late_minutes(at)} at least {show_stress(row.strength_MPa_10, units)} (10 %)"
            )
            found.append((bond.joint, words))
    models = dict.fromkeys(bond.strength_model for bond in answer.joints if bond.strength_model)
    return (*grouped(found), *(f"Model: {model}" for model in models))


def _why(answer: BondAnswer) -> tuple[str, ...]:
    found = []
    for bond in answer.joints:
        if bond.law is not None:
            found.append((bond.joint, f"{bond.law.adhesive}, {bond.law.words}"))
        parts = [f"{name} {100 * share:.0f} %" for name, share in largest(bond.shares)]
        if parts:
            found.append((bond.joint, f"spread from {', '.join(parts)}"))
    return (*grouped(found), *notes_of(answer))


def _section(title: str, texts: tuple[str, ...], mark: str = "•") -> str:
    return laid_out(heading(title).lstrip("\n"), bullets(texts, mark=mark)) if texts else ""


def _closings(answer: BondAnswer, closings: Sequence[Closing], units: Units) -> str:
    if not closings:
        return ""
    zone = ZoneInfo(answer.zone)
    blocks = [heading("Does it fit in the work time?").lstrip("\n")]
    for one in closings:
        told = lines(one, units, lambda moment: _moment(moment, zone))
        blocks += [f"{one.label}: {one.fits.value}", bullets(told, indent=2), ""]
    return laid_out(*blocks)


def _may(answer: BondAnswer, allowed: Sequence[MayDo]) -> str:
    if not allowed:
        return ""
    zone = ZoneInfo(answer.zone)
    rows = [(one.words, _when(one, zone), one.state, one.joint, one.why) for one in allowed]
    header = ("what", "may it be done", "needs", "decided by", "")
    source = allowed[0].source
    return laid_out(
        heading("What may I do now?").lstrip("\n"),
        table(header, rows),
        "",
        bullets(() if source is None else (str(source),)),
    )


def _when(one: MayDo, zone: ZoneInfo) -> str:
    if one.may is not May.LATER:
        return one.may.value
    if one.at is not None:
        return f"not before {_moment(one.at, zone)}"
    return f"not before {_late_minutes(one.after_min or 0.0)} after closing"


def page(
    answer: BondAnswer,
    units: Units,
    closings: Sequence[Closing] = (),
    allowed: Sequence[MayDo] = (),
) -> str:
    """Write when the joints hold as a page.

    Parameters
    ----------
    answer : BondAnswer
        Times, temperatures and clocks of every bonded joint.
    units : Units
        In which lengths, temperatures and stresses are shown.
    closings : sequence of Closing
        Whether each panel that is still to be closed fits in the work time.
    allowed : sequence of MayDo
        What may be done now.

    Returns
    -------
    str
        Instructions first.
    """
    sources = merge(answer.surface.sources, *(bond.sources for bond in answer.joints))
    problems = tuple(f"{problem.where}: {problem.what}" for problem in answer.problems)
    blocks = (
        bullets(answer.advice),
        _section("Not right or not known", problems, "?"),
        _closings(answer, closings, units),
        _may(answer, allowed),
        _times(answer),
        _heat(answer, units),
        _clocks(answer),
        _section("Surface and air", _limits(answer)),
        _section("Strength", _strengths(answer, units)),
        _section("Why", _why(answer)),
        _section("Sources", tuple(str(source) for source in sources)),
        f"Marks: {'; '.join(marks(sources))}." if marks(sources) else "",
    )
    return "\n".join(block.rstrip("\n") + "\n" for block in blocks if block)
