"""What the readings check and what they leave open, for the Fit page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panelwright.fit.body_words import opening_words
from panelwright.fit.home_conflicts import conflict_words
from panelwright.fit.reliability import check_words
from panelwright.fit.sees import CROSS, MOTION_NAMES, sees_words
from panelwright.quantities import Units, show_length, show_length_with_u
from panelwright.web.fit_targets import target_of_reading, words

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import Sees
    from panelwright.fit.reading_answer import Recheck as Doubted


@dataclass(frozen=True)
class Recheck:
    """A reading to take again; `index` is its place in the repair."""

    index: int
    words: str
    said: str
    why: str
    path: str


@dataclass(frozen=True)
class SeesRow:
    """One kind of check: what it sees of the six motions, in per cent."""

    kind: str
    readings: str
    shares: tuple[str, ...]
    motions: int


@dataclass(frozen=True)
class SeesView:
    """What each kind of check sees of one part; `words` put the cross-measure in its place."""

    part: str
    rows: tuple[SeesRow, ...]
    words: tuple[str, ...]


@dataclass(frozen=True)
class ChecksView:
    """The block on what is checked.

    Attributes
    ----------
    unchecked : tuple of str
        Readings that nothing checks, and those that are checked poorly.
    openings : tuple of str
        How far the diagonals of each opening differ.
    homes : tuple of str
        Sources of a target position that do not agree.
    """

    unchecked: tuple[str, ...]
    openings: tuple[str, ...]
    homes: tuple[str, ...]
    sees: tuple[SeesView, ...]
    motions: tuple[str, ...] = MOTION_NAMES


def checks_view(fit: FitAnswer, units: Units) -> ChecksView:
    """Give the block on what is checked."""
    return ChecksView(
        unchecked=check_words(fit.readings, units),
        openings=tuple(_sentence(opening_words(one, units)) for one in fit.body.openings),
        homes=tuple(f"{conflict_words(one, units)}." for one in fit.homes if not one.ok),
        sees=tuple(_sees_view(part.id, part.label, fit.sees, units) for part in fit.parts),
    )


def _sentence(said: str) -> str:
    return f"{said[:1].upper()}{said[1:]}."


def _sees_view(part: str, label: str, every: tuple[Sees, ...], units: Units) -> SeesView:
    own = [replace(row, part=f"the {label or part}") for row in every if row.part == part]
    return SeesView(
        label or part,
        tuple(
            SeesRow(
                row.kind,
                str(row.readings) if row.readings else "not read",
                tuple(f"{100 * share:.0f} %" for share in row.share),
                row.motions,
            )
            for row in own
        ),
        tuple(_sentence(sees_words(row, units)) for row in own if row.kind == CROSS),
    )


def rechecks_of(repair: Repair, fit: FitAnswer, units: Units, path: str) -> tuple[Recheck, ...]:
    """Give the readings to take again, one for each reading, surest first."""
    found: dict[int, Recheck] = {}
    for one in sorted(fit.recheck, key=lambda one: not one.located):
        found.setdefault(one.index, _recheck(repair, fit, one, units, path))
    return tuple(found.values())


def _recheck(repair: Repair, fit: FitAnswer, one: Doubted, units: Units, path: str) -> Recheck:
    target = target_of_reading(repair.readings[one.index])
    said = words(target, repair) if target else one.about
    read = show_length(one.read_mm, units)
    told = f"Read as {read}."
    if one.others_say_mm is not None and one.u_mm is not None:
        others = show_length_with_u(one.others_say_mm, max(one.u_mm, 0.01), units)
        told = f"The others say {others}, it was read as {read} ({one.component})."
    if one.hint:
        told = f"{told} {one.hint[:1].upper()}{one.hint[1:]}"
    if not one.located:
        told += " It may be this one instead: read it again too."
    return Recheck(one.index, said, told, _why(fit, one, units), f"{path}/read?again={one.index}")


def _why(fit: FitAnswer, one: Doubted, units: Units) -> str:
    rows = [r for r in fit.readings if (r.index, r.component) == (one.index, one.component)]
    why = "it is left in until it is read again"
    if rows and rows[0].w is not None:
        why = f"{abs(rows[0].w):.1f} times its standard uncertainty, 3.3 is the limit; {why}"
    if one.smallest_error_mm is not None:
        least = show_length(one.smallest_error_mm, units)
        why += f"; an error in it is noticed from about {least}"
    return why
