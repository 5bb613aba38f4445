"""The plan as a chart: steps against the shop's hours, in Vega-Lite.

Nights and breaks are squeezed to a sliver, so that days of work fill a page's width; waits run
through the slivers. One row holds all steps of one kind. It ends at the hand-over to paint.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
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
BREAK = "#eef0f2"
INK = "#333d47"
HOLD = "#1c1c1c"
CAPTION = (
    "Dark edge: sets the ready-for-paint time. Diamond: hold point. Grey bands: breaks and nights, "
    "squeezed. Dashed lines: ready for paint in 50 and 90 of 100 cases."
)
PAPER_STAGES = 11
BREAK_MINUTES = 12
NIGHT_MINUTES = 40
"""Width of a break and of a night, in minutes of the axis."""


@dataclass(frozen=True)
class Format:
    """Width of the time axis, height of a row and size of text [px at 96 px/in]."""

    width: int
    row: int
    text: int


class Place(Enum):
    """Where the chart is shown."""

    PACKET = Format(width=436, row=15, text=10)
    """With its labels one column of an A4 page: 170 mm."""
    WEB = Format(width=640, row=18, text=12)


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


def chart(answer: PlanAnswer, place: Place = Place.PACKET) -> Mapping[str, Json] | None:
    """The plan's chart as a Vega-Lite specification; None where there is nothing to draw.

    Parameters
    ----------
    answer : PlanAnswer
    place : Place
        Packet or web page.
    """
    steps = [s for s in answer.steps if s.stage <= PAPER_STAGES and not s.done and s.end > s.start]
    if not steps or not answer.working:
        return None
    axis = SqueezedAxis(answer.working)
    size = place.value
    rows = list(dict.fromkeys(_row(step, answer) for step in steps))
    last = max(axis.at(answer_end(answer, steps)), *(axis.at(step.end) for step in steps))
    scale: Json = {"domain": [min(axis.at(step.start) for step in steps), last], "nice": False}
    layers: list[Json] = [
        _breaks(answer, axis, last, scale),
        _bars(answer, steps, axis, rows, size),
        _holds(answer, steps, axis, rows),
        _days(answer, axis, last, size),
        _ready(answer, axis, size),
    ]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "width": size.width,
        "height": size.row * len(rows),
        "padding": {"left": 4, "top": 2, "right": 8, "bottom": 4},
        "background": "white",
        "config": _config(size),
        "layer": layers,
    }


def answer_end(answer: PlanAnswer, steps: Sequence[PlannedStep]) -> datetime:
    """Last moment of the chart: the 90 % time of the last repair, or the last step."""
    return max((ready.p90 for ready in answer.ready_for_paint), default=steps[-1].end)


def _row(step: PlannedStep, answer: PlanAnswer) -> str:
    several = len(answer.ready_for_paint) > 1
    return f"{step.repair}: {step.short}" if several else step.short or step.name


def _config(size: Format) -> Json:
    return {
        "font": FONT,
        "view": {"stroke": None},
        "axis": {"labelFontSize": size.text, "labelColor": INK, "domain": False, "ticks": False},
        "text": {"fontSize": size.text, "font": FONT},
        "legend": {"labelFontSize": size.text, "title": None},
    }


def _x(field: str, scale: Json = None) -> Json:
    encoding: dict[str, Json] = {"field": field, "type": "quantitative", "axis": None}
    if scale is not None:
        encoding["scale"] = scale
    return encoding


def _breaks(answer: PlanAnswer, axis: SqueezedAxis, last: float, scale: Json) -> Json:
    values: list[Json] = []
    for before, after in zip(answer.working, answer.working[1:], strict=False):
        low, high = axis.at(before.end), axis.at(after.start)
        if high <= last:
            values.append({"from": low, "to": high})
    return {
        "data": {"values": values},
        "mark": {"type": "rect", "color": BREAK},
        "encoding": {"x": _x("from", scale), "x2": {"field": "to"}},
    }


def _bars(
    answer: PlanAnswer,
    steps: Sequence[PlannedStep],
    axis: SqueezedAxis,
    rows: Sequence[str],
    size: Format,
) -> Json:
    critical = set(answer.critical)
    values: list[Json] = [
        {
            "row": _row(step, answer),
            "from": axis.at(step.start),
            "to": max(axis.at(step.end), axis.at(step.start) + 3),
            "who": "wait" if step.by is Who.NOBODY else step.by.value,
            "edge": INK if step.id in critical else "transparent",
            "step": step.name,
        }
        for step in steps
    ]
    used = [who for who in COLOURS if any(step.by is who for step in steps)]
    colour: Json = {
        "field": "who",
        "type": "nominal",
        "scale": {
            "domain": ["wait" if w is Who.NOBODY else w.value for w in used],
            "range": [COLOURS[w] for w in used],
        },
        "legend": {"orient": "bottom", "symbolType": "square"},
    }
    return {
        "data": {"values": values},
        "mark": {"type": "bar", "height": size.row - 5, "strokeWidth": 0.7},
        "encoding": {
            "x": _x("from"),
            "x2": {"field": "to"},
            "y": _y(rows),
            "color": colour,
            "stroke": {"field": "edge", "type": "nominal", "scale": None},
            "opacity": {
                "condition": {"test": "datum.who === 'wait'", "value": 0.6},
                "value": 1,
            },
            "tooltip": {"field": "step", "type": "nominal"},
        },
    }


def _y(rows: Sequence[str]) -> Json:
    return {
        "field": "row",
        "type": "nominal",
        "sort": list(rows),
        "axis": {"title": None, "labelLimit": 190, "grid": True, "gridColor": "#f4f5f6"},
    }


def _holds(
    answer: PlanAnswer, steps: Sequence[PlannedStep], axis: SqueezedAxis, rows: Sequence[str]
) -> Json:
    values: list[Json] = [
        {"row": _row(step, answer), "at": axis.at(step.end)} for step in steps if step.hold
    ]
    return {
        "data": {"values": values},
        "mark": {"type": "point", "shape": "diamond", "filled": True, "size": 38, "color": HOLD},
        "encoding": {"x": _x("at"), "y": _y(rows)},
    }


def _days(answer: PlanAnswer, axis: SqueezedAxis, last: float, size: Format) -> Json:
    """A line and the date where each working day begins."""
    values: list[Json] = []
    seen: set[str] = set()
    for window in answer.working:
        day = f"{window.start:%a %d %b}"
        if day not in seen and axis.at(window.start) < last - 60:
            values.append({"at": axis.at(window.start), "day": day})
        seen.add(day)
    return {
        "data": {"values": values},
        "layer": [
            {"mark": {"type": "rule", "color": "#c9ced3"}, "encoding": {"x": _x("at")}},
            {
                "mark": {
                    "type": "text",
                    "align": "left",
                    "dx": 2,
                    "y": -size.text,
                    "color": INK,
                },
                "encoding": {"x": _x("at"), "text": {"field": "day"}},
            },
        ],
    }


def _ready(answer: PlanAnswer, axis: SqueezedAxis, size: Format) -> Json:
    """Lines at the times by which 50 and 90 of 100 cases are ready."""
    several = len(answer.ready_for_paint) > 1
    values: list[Json] = []
    for ready in answer.ready_for_paint:
        name = f"{ready.repair} " if several else ""
        for words, moment in (("50 %", ready.p50), ("90 %", ready.p90)):
            label = f"{name}{words}: {moment:%a %H:%M}"
            values.append(
                {
                    "at": axis.at(moment),
                    "beside": axis.at(ready.p50),
                    "label": label,
                    "low": words == "90 %",
                }
            )
    drop = size.text + 4
    return {
        "data": {"values": values},
        "layer": [
            {
                "mark": {"type": "rule", "color": INK, "strokeDash": [4, 3]},
                "encoding": {"x": _x("at")},
            },
            {
                "transform": [{"filter": "!datum.low"}],
                "mark": {"type": "text", "align": "right", "dx": -3, "y": drop, "color": INK},
                "encoding": {"x": _x("beside"), "text": {"field": "label"}},
            },
            {
                "transform": [{"filter": "datum.low"}],
                "mark": {"type": "text", "align": "right", "dx": -3, "y": 2 * drop, "color": INK},
                "encoding": {"x": _x("beside"), "text": {"field": "label"}},
            },
        ],
    }
