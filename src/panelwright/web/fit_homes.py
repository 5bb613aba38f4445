"""Where a point belongs: its sources that there are, chosen by tap, and whether they agree."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.facts.models.readings import PlaceReading
from panelwright.facts.repair import BODY
from panelwright.fit.answer import Answer as FitAnswer
from panelwright.fit.home_conflicts import conflict_words
from panelwright.fit.settings import settings_of
from panelwright.fit.still_on import parts_still_on
from panelwright.web.anew import anew, body_of
from panelwright.web.fit_lengths import above_nought, length_of, shown
from panelwright.web.fit_targets import POINTS, target_of_reading

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import HomeSource, Point
    from panelwright.facts.repair import Repair
    from panelwright.quantities import Units
    from panelwright.record import Unanswered
    from panelwright.web.forms import Form
    from panelwright.web.visit import There
    from panelwright.web.writes import Say

SOURCES: Mapping[HomeSource, str] = {
    "twin": "mirror image of the other side",
    "xyz": "dimension sheet",
    "before": "old part, before it came off",
    "sister": "sister vehicle",
}


@dataclass(frozen=True)
class Source:
    """A source of a target position: whether it can be chosen, and what is to be known of it."""

    key: HomeSource
    words: str
    offered: bool
    chosen: bool
    note: str


@dataclass(frozen=True)
class HomeItem:
    """A point of a part, with where it belongs.

    Attributes
    ----------
    conflicts : tuple of str
        What its sources say against each other.
    agree : str
        How many comparisons agree; empty where there is only one source.
    tolerance : str
        As it stands in the field.
    by_axis : bool
        Whether its tolerance differs by direction: it is left as it is.
    """

    id: str
    title: str
    on: str
    sources: tuple[Source, ...]
    conflicts: tuple[str, ...]
    agree: str
    tolerance: str
    by_axis: bool

    @property
    def away(self) -> str:
        """Give the sources that are not to be chosen, and why."""
        return "; ".join(f"{one.words} ({one.note})" for one in self.sources if not one.offered)


def homes_here(there: There) -> tuple[HomeItem, ...]:
    """Give the points that could have a target position, those in conflict first."""
    repair, fit = there.known.repair, there.answers.fit(there.known)
    found = [_item(repair, point, fit, there.units) for point in homed_points(repair)]
    return tuple(sorted(found, key=lambda one: not one.conflicts))


def homed_points(repair: Repair) -> tuple[Point, ...]:
    """Give the points of parts: only parts go home."""
    return tuple(point for point in repair.points if point.on != BODY and not point.assumed)


def _item(repair: Repair, point: Point, fit: FitAnswer | Unanswered, units: Units) -> HomeItem:
    every = fit.homes if isinstance(fit, FitAnswer) else ()
    checks = [one for one in every if one.point == point.id]
    agree = [one for one in checks if one.ok]
    part = repair.part_by_id.get(point.on)
    by_axis = isinstance(point.tolerance, AxisTolerance)
    return HomeItem(
        id=point.id,
        title=f"{point.id}: {point.name}" if point.name else point.id,
        on=part.label if part else point.on,
        sources=sources_of(repair, point),
        conflicts=tuple(f"{conflict_words(one, units)}." for one in checks if not one.ok),
        agree="Its sources agree." if agree and len(agree) == len(checks) else "",
        tolerance="" if by_axis else shown(point.tolerance, units),
        by_axis=by_axis,
    )


def sources_of(repair: Repair, point: Point) -> tuple[Source, ...]:
    """Give every source of a point's target position, with what there is of it."""
    notes: Mapping[HomeSource, tuple[bool, str]] = {
        "twin": _twin(repair, point),
        "xyz": _sheet(point),
        "before": _before(repair, point),
        "sister": _sister(repair, point),
    }
    return tuple(
        Source(key, words, notes[key][0] or key in point.homes, key in point.homes, notes[key][1])
        for key, words in SOURCES.items()
    )


def _twin(repair: Repair, point: Point) -> tuple[bool, str]:
    twin = repair.point_by_id.get(point.twin or "")
    if twin is None:
        return False, "no point opposite is known"
    if twin.damaged:
        return False, f"{twin.id} was hit"
    if twin.assumed:
        return False, f"{twin.id} is only assumed: confirm it first"
    return True, f"of {twin.id}"


def _sheet(point: Point) -> tuple[bool, str]:
    given = point.xyz is not None and point.u is not None and any(u != "free" for u in point.u)
    return (True, "") if given else (False, "no coordinates of a sheet are known")


def _before(repair: Repair, point: Point) -> tuple[bool, str]:
    if _is_read(repair, point, "before"):
        return True, "read"
    if point.on in parts_still_on(repair, settings_of(repair)) or not _is_fitted(repair, point):
        return True, "not read yet: it goes onto the list before cutting"
    return False, "it was not read, and the old part is off"


def _is_fitted(repair: Repair, point: Point) -> bool:
    return point.on in settings_of(repair).fitted


def _sister(repair: Repair, point: Point) -> tuple[bool, str]:
    given = any(one.point == point.id for one in repair.sisters)
    if given or _is_read(repair, point, "sister"):
        return True, "coordinates are there" if given else "read"
    return True, "not read yet: it goes onto the list for the sister vehicle"


def _is_read(repair: Repair, point: Point, when: str) -> bool:
    for reading in repair.readings:
        if reading.when != when:
            continue
        target = target_of_reading(reading)
        if target is not None and target.kind in POINTS and point.id in target.names:
            return True
        if isinstance(reading, PlaceReading) and reading.point == point.id:
            return True
    return False


def said_of(there: There, form: Form) -> list[Say]:
    """Give the fact that says where a point belongs; problems are noted in the form."""
    repair = there.known.repair
    name = form.value("point")
    point = next((one for one in homed_points(repair) if one.id == name), None)
    if point is None:
        form.wrong("", "This point is not there any more; open the page anew.")
        return []
    chosen = [one.key for one in sources_of(repair, point) if form.value(f"from-{one.key}")]
    offered = {one.key for one in sources_of(repair, point) if one.offered}
    if not chosen:
        form.wrong("from", "Choose at least one: a point without one is not judged.")
    elif not set(chosen) <= offered:
        form.wrong("from", "One of them is not there any more: choose among the others.")
    different: dict[str, object] = {"home": chosen[0] if len(chosen) == 1 else list(chosen)}
    if not isinstance(point.tolerance, AxisTolerance):
        before = body_of(there.known, "point", name).get("tolerance")
        need = "Say by how much it may be off."
        tolerance = length_of(form, "tolerance", there.units, before, need=need)
        above_nought(form, "tolerance", tolerance)
        different["tolerance"] = tolerance
    return [anew(there.known, "point", name, **different)]
