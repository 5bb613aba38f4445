"""The plan as a chart: steps against the shop's hours, in Vega-Lite.

Nights and breaks are squeezed to a sliver, so that days of work fill a page's width; waits run
through the slivers. Every stage of the course has a row, and one below it where steps overlap or
wait. It ends at the hand-over to paint.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from itertools import pairwise
from typing import TypeAlias

from panelwright.plan.answer import PlanAnswer, PlannedStep, Who, Window

Json: TypeAlias = "str | int | float | bool | Sequence[Json] | Mapping[str, Json] | None"

FONT = "Noto Sans"
COLOURS = {
    Who.TECHNICIAN: "#2b6ca3",
    Who.LEAD: "#6d4c8f",
    Who.QUALIFIED: "#a3486b",
    Who.LAMP: "#d08a1d",
    Who.NOBODY: "#b9c3cc",
}
"""Told apart by lightness as well as by hue."""
BREAK = "#dfe3e7"
STRIPE = "#f3f5f7"
INK = "#333d47"
HOLD = "#1c1c1c"
CAPTION = (
    "Dark edge: sets the ready-for-paint time. Diamond: hold point. Nights are cut out, breaks "
    "squeezed. Dashed lines: ready for paint in 50 and in 90 of 100 cases."
)
PAPER_STAGES = 11
STAGES = (
    "make safe",
    "measure",
    "take off",
    "inspect",
    "dress flanges",
    "dry fit",
    "trials",
    "bond",
    "cure",
    "seal and pads",
    "fit and hand over",
    "after paint",
)
"""The course of a repair, one lane each."""
BREAK_MINUTES = 12
NIGHT_MINUTES = 20
"""Width of a break and of a night, in minutes of the axis."""


@dataclass(frozen=True)
class Format:
    """Width of the time axis, height of a row and size of text [px at 96 px/in]."""

    width: int
    row: int
    text: int


class Place(Enum):
    """Where the chart is shown."""

    PACKET = Format(width=560, row=10, text=10)
    """With its labels one column of an A4 page: 180 mm."""
    WEB = Format(width=640, row=16, text=12)


class SqueezedAxis:
    """Working time at full width, breaks and nights as slivers."""

    def __init__(self, working: Sequence[Window]) -> None:
        self.corners: list[tuple[datetime, float]] = []
        place = 0.0
        for number, window in enumerate(working):
            if number:
                gap = (window.start - working[number - 1].end).total_seconds() / 60.0
                place += NIGHT_MINUTES if gap > 180 else min(BREAK_MINUTES, gap)
            self.corners.append((window.start, place))
            place += (window.end - window.start).total_seconds() / 60.0
            self.corners.append((window.end, place))

    def at(self, moment: datetime) -> float:
        """Place of a moment on the axis; minutes before the first and after the last corner."""
        first, last = self.corners[0], self.corners[-1]
        if moment <= first[0]:
            return first[1] - min((first[0] - moment).total_seconds() / 60.0, NIGHT_MINUTES)
        for (low, at_low), (high, at_high) in zip(self.corners, self.corners[1:], strict=False):
            if moment <= high:
                part = (moment - low) / (high - low)
                return at_low + part * (at_high - at_low)
        return last[1] + min((moment - last[0]).total_seconds() / 60.0, NIGHT_MINUTES)


@dataclass(frozen=True)
class Canvas:
    """What every layer is drawn on.

    `lanes` are the rows from above, `lane_of` the row of each step, `last` the end of the axis.
    """

    answer: PlanAnswer
    steps: tuple[PlannedStep, ...]
    axis: SqueezedAxis
    size: Format
    lanes: tuple[str, ...]
    lane_of: Mapping[str, str]
    first: float
    last: float

    @property
    def height(self) -> int:
        """Of all rows [px]."""
        return self.size.row * len(self.lanes)

    def minutes(self, pixels: float) -> float:
        """So many pixels as minutes of the axis."""
        return pixels * (self.last - self.first) / self.size.width


def chart(answer: PlanAnswer, place: Place = Place.PACKET) -> Mapping[str, Json] | None:
    """The plan's chart as a Vega-Lite specification; None where there is nothing to draw.

    Parameters
    ----------
    answer : PlanAnswer
    place : Place
        Packet or web page.
    """
    steps = tuple(
        s for s in answer.steps if s.stage <= PAPER_STAGES and not s.done and s.end > s.start
    )
    if not steps or not answer.working:
        return None
    on = _canvas(answer, steps, place.value)
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "width": on.size.width,
        "height": on.height,
        "padding": {"left": 4, "top": 2, "right": 8, "bottom": 4},
        "background": "white",
        "config": _config(on.size),
        "layer": [_stripes(on), _breaks(on), _bars(on), _holds(on), _days(on), *_ready(on)],
    }


def _canvas(answer: PlanAnswer, steps: tuple[PlannedStep, ...], size: Format) -> Canvas:
    axis = SqueezedAxis(answer.working)
    lanes, lane_of = _lanes(answer, steps)
    end = max((ready.p90 for ready in answer.ready_for_paint), default=steps[-1].end)
    first = min(axis.at(step.start) for step in steps)
    last = max(axis.at(end), *(axis.at(step.end) for step in steps))
    return Canvas(answer, steps, axis, size, lanes, lane_of, first, max(last, first + 60.0))


def _stage(step: PlannedStep, answer: PlanAnswer) -> str:
    name = STAGES[min(max(step.stage, 1), len(STAGES)) - 1]
    return f"{step.repair}: {name}" if len(answer.ready_for_paint) > 1 else name


def _lanes(
    answer: PlanAnswer, steps: Sequence[PlannedStep]
) -> tuple[tuple[str, ...], dict[str, str]]:
    """A row for each stage; a second one where its steps overlap, and one for its waits."""
    free: dict[tuple[str, str, bool], list[datetime]] = {}
    lane_of: dict[str, str] = {}
    by_stage = sorted(steps, key=lambda step: (step.repair, step.stage, step.start))
    for step in by_stage:
        waits = step.by in (Who.NOBODY, Who.LAMP)
        ends = free.setdefault((step.repair, _stage(step, answer), waits), [])
        row = next((n for n, end in enumerate(ends) if waits or end <= step.start), len(ends))
        ends[row : row + 1] = [step.end]
        lane_of[step.id] = f"{_stage(step, answer)}{SEAM}{'wait' if waits else ''}{row}"
    order = sorted(by_stage, key=lambda s: (s.repair, s.stage, "wait" in lane_of[s.id]))
    return tuple(dict.fromkeys(lane_of[step.id] for step in order)), lane_of


SEAM = " | "
"""Between a stage and its row; only the first row of a stage is labelled."""


def _config(size: Format) -> Json:
    return {
        "font": FONT,
        "view": {"stroke": None},
        "axis": {"labelFontSize": size.text, "labelColor": INK, "domain": False, "ticks": False},
        "text": {"fontSize": size.text, "font": FONT},
        "legend": {"labelFontSize": size.text, "title": None},
    }


def _x(field: str, on: Canvas | None = None) -> Json:
    encoding: dict[str, Json] = {"field": field, "type": "quantitative", "axis": None}
    if on is not None:
        encoding["scale"] = {"domain": [on.first, on.last], "nice": False, "zero": False}
    return encoding


def _y(on: Canvas) -> Json:
    """The rows, labelled where a stage begins."""
    labelled: dict[str, str] = {}
    for lane in on.lanes:
        labelled.setdefault(lane.partition(SEAM)[0], lane)
    tests = " || ".join(f"datum.value === {json.dumps(lane)}" for lane in labelled.values())
    seam = json.dumps(SEAM)
    axis: Json = {
        "title": None,
        "labelLimit": 190,
        "labelExpr": f"({tests}) ? split(datum.value, {seam})[0] : ''",
        "grid": False,
    }
    return {
        "field": "row",
        "type": "nominal",
        "sort": list(on.lanes),
        "scale": {"domain": list(on.lanes), "paddingInner": 0, "paddingOuter": 0},
        "axis": axis,
    }


def _stripes(on: Canvas) -> Json:
    """A pale band behind the rows of every other stage."""
    stages = list(dict.fromkeys(lane.partition(SEAM)[0] for lane in on.lanes))
    values: list[Json] = [
        {"row": lane, "from": on.first, "to": on.last}
        for lane in on.lanes
        if stages.index(lane.partition(SEAM)[0]) % 2 == 0
    ]
    return {
        "data": {"values": values},
        "mark": {"type": "bar", "color": STRIPE, "height": on.size.row},
        "encoding": {"x": _x("from", on), "x2": {"field": "to"}, "y": _y(on)},
    }


def _breaks(on: Canvas) -> Json:
    values: list[Json] = []
    working = on.answer.working
    for before, after in pairwise(working):
        low, high = on.axis.at(before.end), on.axis.at(after.start)
        if on.first <= low and high <= on.last:
            values.append({"from": low, "to": high})
    return {
        "data": {"values": values},
        "mark": {"type": "rect", "color": BREAK},
        "encoding": {"x": _x("from", on), "x2": {"field": "to"}},
    }


def _bars(on: Canvas) -> Json:
    critical = set(on.answer.critical)
    values: list[Json] = [
        {
            "row": on.lane_of[step.id],
            "from": on.axis.at(step.start),
            "to": max(on.axis.at(step.end), on.axis.at(step.start) + on.minutes(1.5)),
            "who": "wait" if step.by is Who.NOBODY else step.by.value,
            "edge": HOLD if step.id in critical else "white",
            "step": step.name,
        }
        for step in on.steps
    ]
    used = [who for who in COLOURS if any(step.by is who for step in on.steps)]
    colour: Json = {
        "field": "who",
        "type": "nominal",
        "scale": {
            "domain": ["wait" if w is Who.NOBODY else w.value for w in used],
            "range": [COLOURS[w] for w in used],
        },
        "legend": {"orient": "bottom", "symbolType": "square", "offset": 2 * on.size.text},
    }
    return {
        "data": {"values": values},
        "mark": {"type": "bar", "height": on.size.row - 3, "strokeWidth": 0.7},
        "encoding": {
            "x": _x("from", on),
            "x2": {"field": "to"},
            "y": _y(on),
            "color": colour,
            "stroke": {"field": "edge", "type": "nominal", "scale": None},
            "tooltip": {"field": "step", "type": "nominal"},
        },
    }


def _holds(on: Canvas) -> Json:
    values: list[Json] = [
        {"row": on.lane_of[step.id], "at": on.axis.at(step.end)} for step in on.steps if step.hold
    ]
    return {
        "data": {"values": values},
        "mark": {
            "type": "point",
            "shape": "diamond",
            "filled": True,
            "size": 5 * on.size.row,
            "color": HOLD,
            "stroke": "white",
            "strokeWidth": 0.8,
            "opacity": 1,
        },
        "encoding": {"x": _x("at", on), "y": _y(on)},
    }


def _day(moment: datetime) -> str:
    return f"{moment:%a %d %b}"


def _days(on: Canvas) -> Json:
    """A line and the date where each working day begins; a date that has no room is left out."""
    values: list[Json] = []
    seen: set[str] = set()
    free = on.first - 1.0
    wide = on.minutes(0.62 * on.size.text * len("Wed 00 Mmm") + 4)
    for window in on.answer.working:
        at = max(on.axis.at(window.start), on.first)
        if window.end <= on.steps[0].start or _day(window.start) in seen:
            continue
        seen.add(_day(window.start))
        if at <= on.last:
            room = at >= free and at + wide <= on.last + on.minutes(8)
            values.append({"at": at, "day": _day(window.start) if room else ""})
            free = at + wide if room else free
    return {
        "data": {"values": values},
        "layer": [
            {
                "mark": {"type": "rule", "color": "#9aa4ad", "strokeWidth": 0.7},
                "encoding": {"x": _x("at", on)},
            },
            {
                "mark": {
                    "type": "text",
                    "align": "left",
                    "dx": 2,
                    "y": -on.size.text + 2,
                    "color": INK,
                },
                "encoding": {"x": _x("at", on), "text": {"field": "day"}},
            },
        ],
    }


def _ready(on: Canvas) -> list[Json]:
    """Lines at the times by which 50 and 90 of 100 cases are ready, their words below the rows."""
    several = len(on.answer.ready_for_paint) > 1
    values: list[Json] = []
    marks: list[Json] = []
    words: list[str] = []
    for ready in on.answer.ready_for_paint:
        times = f"50 %: {ready.p50:%a %H:%M}, 90 %: {ready.p90:%a %H:%M}"
        words.append(f"{ready.repair} {times}" if several else f"ready for paint {times}")
        values += [{"at": on.axis.at(moment)} for moment in (ready.p50, ready.p90)]
    if values:
        rule: Json = {"type": "rule", "color": HOLD, "strokeDash": [4, 3], "strokeWidth": 1}
        marks.append(
            {"data": {"values": values}, "mark": rule, "encoding": {"x": _x("at", on)}},
        )
    label: Json = {
        "type": "text",
        "align": "right",
        "x": on.size.width,
        "y": on.height + on.size.text,
        "color": INK,
    }
    text: Json = {"text": {"value": "; ".join(words)}}
    marks.append({"data": {"values": [{}]}, "mark": label, "encoding": text})
    return marks
