"""Tools as forms take them: what a level stands on, a tape's class, what repeats say of a tool."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.fit.answer import Answer as FitAnswer
from panelwright.fit.origins import sources_in
from panelwright.fit.tools import instruments
from panelwright.quantities import Units, show_length
from panelwright.web.anew import anew
from panelwright.web.fit_targets import TOOL_WORDS

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.reading_answer import LearntTool
    from panelwright.record import Unanswered
    from panelwright.web.forms import Form
    from panelwright.web.visit import There
    from panelwright.web.writes import Say

NONE = "-"
FLOORS: Mapping[str, str] = {
    NONE: "nobody knows: its heights do not count",
    "level": "the vehicle stands level",
    "sloping": "the floor slopes: find the slope from the heights",
}
CLASSES: Mapping[str, str] = {NONE: "none is printed", "I": "I", "II": "II", "III": "III"}
HOOKS: Mapping[str, str] = {NONE: "from a mark on the scale", "hook": "from its hook or butt end"}
KINDS_SET = ("tape", "level")
"""Kinds of tools that have something to be said of."""
_NUMBERS = frozenset({"scale_u"})
"""Keys of a tool that are numbers without a unit."""


@dataclass(frozen=True)
class ToolItem:
    """A tool that is used or entered.

    Attributes
    ----------
    floor, printed, hook : str
        What its form shows.
    learnt : str
        What repeats say of it; empty where nothing was read twice.
    takes : str
        What the button that takes that over says; empty where nothing is to be changed.
    """

    id: str
    title: str
    kind: str
    words: str
    floor: str
    printed: str
    hook: str
    learnt: str
    takes: str


def tools_here(there: There) -> tuple[ToolItem, ...]:
    """Give the tools of a repair: those that were used or entered, tape and level always."""
    repair, fit = there.known.repair, there.answers.fit(there.known)
    used = [reading.with_ for reading in repair.readings if reading.with_]
    own = [tool.id for tool in repair.tools]
    names = dict.fromkeys(["tape", "level", *own, *used])
    known = instruments(repair)
    return tuple(_item(repair, fit, name, there.units) for name in names if name in known)


def _item(repair: Repair, fit: FitAnswer | Unanswered, name: str, units: Units) -> ToolItem:
    tool = instruments(repair)[name]
    said = next((one for one in repair.tools if one.id == name), None)
    learnt = _learnt(fit, name)
    own = show_length(tool.u_mm, units, 0.1)
    source = sources_in([tool.source], units)[0]
    return ToolItem(
        id=name,
        title=TOOL_WORDS.get(name, name),
        kind=tool.kind,
        words=f"One reading: ± {own} for seating and reading ({source}).",
        floor=(said.floor if said else None) or NONE,
        printed=(said.class_ if said else None) or NONE,
        hook="hook" if said and said.hook else NONE,
        learnt=learnt_words(learnt, units) if learnt else "",
        takes=f"Take over ± {show_length(learnt.u_mm, units, 0.1)}"
        if learnt and learnt.proposal
        else "",
    )


def _learnt(fit: FitAnswer | Unanswered, name: str) -> LearntTool | None:
    if not isinstance(fit, FitAnswer):
        return None
    return next((one for one in fit.learnt if one.id == name), None)


def learnt_words(learnt: LearntTool, units: Units) -> str:
    """Say what repeats tell of a tool, beside what is used."""
    own, used, both = (
        show_length(value, units, 0.1)
        for value in (learnt.repeats_u_mm, learnt.used_u_mm, learnt.u_mm)
    )
    said = f"Your repeats say ± {own} ({learnt.readings} readings); ± {used} is used"
    return f"{said}. Both together: ± {both}." if learnt.proposal else f"{said}."


def proposals(fit: FitAnswer | Unanswered) -> tuple[str, ...]:
    """Give the tools whose own uncertainty repeats propose."""
    if not isinstance(fit, FitAnswer):
        return ()
    return tuple(one.id for one in fit.learnt if one.proposal)


def taken_over(there: There, form: Form) -> list[Say]:
    """Give the fact by which a tool has what repeats say of it."""
    name = form.value("tool")
    learnt = _learnt(there.answers.fit(there.known), name)
    if learnt is None or not learnt.proposal:
        form.wrong("", "The repeats do not propose this any more; see what they say now.")
        return []
    different: dict[str, object] = {
        key: float(value) if key in _NUMBERS else value
        for key, value in learnt.proposal
        if key != "id"
    }
    return [anew(there.known, "tool", name, **different)]


def said_of(there: There, form: Form) -> list[Say]:
    """Give the fact that says what a tool stands on, or what is printed on it."""
    name = form.choice("tool", [one.id for one in tools_here(there)], need="Which tool?")
    if name is None or not form.ok:
        return []
    kind = instruments(there.known.repair)[name].kind
    if kind == "level":
        floor = form.choice("floor", FLOORS, need="Choose what the vehicle stands on.")
        return [anew(there.known, "tool", name, floor=None if floor == NONE else floor)]
    if kind == "tape":
        printed = form.choice("class", CLASSES, need="Choose the class printed on it.")
        hook = form.choice("hook", HOOKS, need="Choose where it is read from.")
        if printed == NONE and hook == "hook":
            form.wrong("hook", "What a hook adds is known by the class: choose the class, too.")
        told = {
            "class": None if printed == NONE else printed,
            "hook": True if hook == "hook" else None,
        }
        return [anew(there.known, "tool", name, **told)]
    form.wrong("", "Nothing is to be said of this tool here.")
    return []
