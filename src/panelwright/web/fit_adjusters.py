"""Adjusters of a part on the Fit page: how to set them, how good it can get."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.fit.adjuster_words import parts_said, place_said, reach_words, setting_words
from panelwright.quantities import Units, in_units, show_length
from panelwright.record.answer import Unanswered
from panelwright.record.figures import percent
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.adjuster_answer import AdjusterSetting, ExpectedPlace, Reach
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import PartFit


@dataclass(frozen=True)
class AdjusterView:
    """One adjuster: what to do, and where it ends."""

    index: int
    name: str
    does: str
    changes: bool
    stands: str
    to: str
    reach: str
    note: str


@dataclass(frozen=True)
class ExpectedView:
    """A place as it is expected once adjusters are set."""

    place: str
    off: str
    tolerance: str
    now: str
    then: str
    chance: str


@dataclass(frozen=True)
class AdjustersView:
    """All adjusters of a part.

    Attributes
    ----------
    sign : Sign
        Whether every place is expected inside.
    reached : str
        How good it can get and what limits it; where it is set together with another part, that
        part says it.
    """

    rows: tuple[AdjusterView, ...]
    sign: Sign
    reached: str
    expected: tuple[ExpectedView, ...]


def adjusters_view(fit: FitAnswer, part: PartFit, units: Units) -> AdjustersView | None:
    """Give the adjusters of a part as the page shows them; None where none is to be set."""
    reach = next((one for one in fit.reach if part.id in one.parts), None)
    if reach is None or not part.settings:
        return None
    rows = tuple(_row(setting, units) for setting in part.settings)
    sign = Sign.GOOD if reach.inside else Sign.BAD
    if part.id != reach.parts[0]:
        first = next((one.label or one.id for one in fit.parts if one.id == reach.parts[0]), "")
        return AdjustersView(rows, sign, f"Set together with the {first}: see there.", ())
    words = f"{parts_said(reach)}{reach_words(reach, units)}"
    return AdjustersView(rows, sign, f"{words[:1].upper()}{words[1:]}.", _expected(reach, units))


def set_as_told(repair: Repair, fit: FitAnswer | Unanswered, part: str) -> list[dict[str, object]]:
    """Give where the adjusters of a part stand once they are set as the page said."""
    if isinstance(fit, Unanswered):
        return []
    settings = [one for fitted in fit.parts if fitted.id == part for one in fitted.settings]
    return [
        {"adjuster": repair.adjusters[one.index].label, "to": round(one.to_mm, 2)}
        for one in settings
        if one.range_mm[0] <= one.to_mm <= one.range_mm[1]
    ]


def _row(setting: AdjusterSetting, units: Units) -> AdjusterView:
    low, high = (show_length(end, units) for end in setting.range_mm)
    words = setting_words(setting, units)
    does = words.removeprefix(f"{setting.name}: ")
    note = in_units(setting.note, units)
    return AdjusterView(
        setting.index,
        setting.name,
        does,
        setting.changes,
        show_length(setting.from_mm, units),
        show_length(setting.to_mm, units),
        f"{low} to {high}",
        "; ".join(filter(None, ("at its end" if setting.at_end else "", note))),
    )


def _expected(reach: Reach, units: Units) -> tuple[ExpectedView, ...]:
    farthest = sorted(reach.expected, key=lambda place: -place.ratio)
    return tuple(_place(place, units) for place in farthest)


def _place(place: ExpectedPlace, units: Units) -> ExpectedView:
    return ExpectedView(
        place_said(place).removeprefix("the "),
        show_length(place.off_mm, units),
        show_length(place.tolerance_mm, units),
        f"{100.0 * place.ratio_now:.0f} %",
        f"{100.0 * place.ratio:.0f} %",
        percent(place.p_inside),
    )
