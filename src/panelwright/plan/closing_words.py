"""Whether closing a panel fits in the work time, in words and as the published JSON."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.plan.closing_answer import Fits
from panelwright.quantities import Units, show_length, show_minutes, show_temperature
from panelwright.sources import marks

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from panelwright.plan.closing_answer import Closing, LatestStart, Pause, Way
    from panelwright.plan.pace import Pace

AFTER_PAUSE = "change the nozzle; never press out a mix that has stiffened"


def headline(closing: Closing, units: Units) -> str:
    """The verdict with its figures, instruction first where it does not fit."""
    need = closing.need
    likely, late = _up(need.likely_min), _up(need.late_min)
    what = f"{length_words(closing, units)} of bead and {closing.rivets} rivets"
    asks = f"{what} take one person {likely}, at most {late} in 9 of 10 cases"
    if closing.work_min is None or closing.celsius is None:
        return f"How long the adhesive can be worked is not known; {asks}."
    at = show_temperature(closing.celsius, units)
    works = f"the adhesive can be worked {_down(closing.work_min)} at {at} (early bound)"
    if closing.fits is Fits.YES:
        return f"It fits: {asks}; {works}. {_down(closing.margin_min or 0.0)} to spare."
    if closing.fits is Fits.TIGHT:
        short = _up(-(closing.margin_min or 0.0))
        return f"It is tight: {asks}; {works}. In 1 of 10 cases {short} are missing."
    return f"Do not start like this: {asks}; {works}."


def _up(minutes: float) -> str:
    return show_minutes(math.ceil(minutes))


def _down(minutes: float) -> str:
    return show_minutes(math.floor(max(minutes, 0.0)))


def way_words(way: Way, units: Units) -> str:
    """One way to make it fit, with what stands against it."""
    words = way.words
    if way.celsius is not None:
        mine = show_temperature(way.celsius, units)
        words = words.replace(show_temperature(way.celsius, Units.MM), mine)
    return " ".join((words, *way.notes))


def start_words(start: LatestStart, said: Callable[[datetime], str]) -> str:
    """The latest first bead."""
    end = "the shift ends" if start.last else "the break begins"
    return f"Start the first bead by {said(start.at)} at the latest: {end} at {said(start.before)}."


def pause_words(pause: Pause, units: Units) -> str:
    """How long work may rest between two beads."""
    at = show_temperature(pause.celsius, units)
    gel = f"a mix that stands in its nozzle is spent after {_down(pause.gel_min)} at {at}"
    gel += " by an estimate from memory: its data sheet governs"
    if pause.all_min < 1.0:
        return f"No pause once the first bead is laid; {gel}."
    if pause.nozzle_min < 1.0:
        stops = f"all stops together {_down(pause.all_min)} at most"
        return f"At every stop {AFTER_PAUSE}; {stops}; {gel}."
    return (
        f"A pause of {_down(pause.nozzle_min)} at most with the same nozzle, then {AFTER_PAUSE}; "
        f"all pauses together {_down(pause.all_min)} at most; {gel}."
    )


FOOT_M = 0.3048


def length_words(closing: Closing, units: Units) -> str:
    """How long all beads are together."""
    if units is Units.MM:
        return f"{closing.bead_mm / 1000.0:.2f} m"
    return show_length(closing.bead_mm, units)


def counted_words(closing: Closing, units: Units) -> tuple[str, str, str]:
    """How the minutes add up."""
    bead, close, rivet = (_up(minutes) for minutes in closing.pieces)
    length = length_words(closing, units)
    return (
        f"{bead} for {length} of bead, cartridge levelled and first mix discarded",
        f"{close} to close",
        f"{rivet} for {closing.rivets} rivets and the squeeze-out",
    )


def pace_words(closing: Closing, units: Units) -> tuple[str, str]:
    """How fast beads and rivets were taken, and from what that is known."""
    bead, rivet = closing.bead_pace, closing.rivet_pace
    by_metre = units is Units.MM
    each_min = bead.each_min if by_metre else bead.each_min * FOOT_M
    what = "metre" if by_metre else "foot"
    return (
        f"{each_min:.2g} min for a {what} of bead ({bead.words})",
        f"{rivet.each_min:.2g} min for a rivet ({rivet.words})",
    )


def lines(closing: Closing, units: Units, said: Callable[[datetime], str]) -> Iterator[str]:
    """All of it, most pressing first."""
    yield headline(closing, units)
    yield from (f"{problem.what}." for problem in closing.problems)
    yield from (way_words(way, units) for way in closing.ways)
    if closing.fits is not Fits.YES and closing.work_min is not None:
        yield "None of this overrides the data sheet and the maker's procedure."
    if closing.start is not None:
        yield start_words(closing.start, said)
    if closing.pause is not None:
        yield pause_words(closing.pause, units)
    yield f"Counted: {'; '.join(counted_words(closing, units))}."
    yield f"Pace: {'; '.join(pace_words(closing, units))}."


def as_json(closing: Closing) -> dict[str, object]:
    """A closing with its keys; minutes as numbers, moments as ISO 8601."""
    need, pause, start = closing.need, closing.pause, closing.start
    return {
        "panel": closing.panel,
        "joints": list(closing.joints),
        "bead_mm": closing.bead_mm,
        "rivets": closing.rivets,
        "people": closing.people,
        "need_min": {"likely": need.likely_min, "late": need.late_min},
        "work_min": closing.work_min,
        "at_C": closing.celsius,
        "fits": closing.fits.value,
        "margin_min": closing.margin_min,
        "minutes_per_rivet": _pace_json(closing.rivet_pace),
        "minutes_per_metre": _pace_json(closing.bead_pace),
        "ways": [_way_json(way) for way in closing.ways],
        "pause": None
        if pause is None
        else {
            "nozzle_min": pause.nozzle_min,
            "all_min": pause.all_min,
            "gel_min": pause.gel_min,
        },
        "latest_start": None
        if start is None
        else {"at": start.at.isoformat(), "before": start.before.isoformat()},
        "begun": closing.begun,
        "problems": [{"where": p.where, "what": p.what} for p in closing.problems],
        "sources": [str(source) for source in closing.sources],
        "marks": list(marks(closing.sources)),
    }


def _pace_json(pace: Pace) -> dict[str, object]:
    return {
        "value": pace.each_min,
        "runs": pace.runs,
        "amount": pace.amount,
        "from": pace.words,
    }


def _way_json(way: Way) -> dict[str, object]:
    return {
        "help": way.help.value,
        "words": way.words,
        "need_min": {"likely": way.need.likely_min, "late": way.need.late_min},
        "work_min": way.work_min,
        "margin_min": way.margin_min,
        "fits": way.fits.value,
        "people": way.people,
        "first": list(way.first),
        "second": list(way.second),
        "to_C": way.celsius,
        "notes": list(way.notes),
    }
