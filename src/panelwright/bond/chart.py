"""The chart of one joint: temperature and strength against minutes, in Vega-Lite."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import Enum
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.bond.answer import JointBond

Json: TypeAlias = "str | int | float | bool | Sequence[Json] | Mapping[str, Json] | None"

FONT = "Noto Sans"
COLD = "#2b6ca3"
HOT = "#c8641e"
STRENGTH = "#3d5a73"
LIMIT = "#4a4a4a"
PALE = 0.18


@dataclass(frozen=True)
class Format:
    """Width and height of each of the two panes, and size of text [px at 96 px/in]."""

    width: int
    temperature_height: int
    strength_height: int
    text: int


class Place(Enum):
    """Where the chart is shown."""

    PACKET = Format(width=560, temperature_height=190, strength_height=130, text=11)
    """One column of an A4 page: 170 mm with axis."""
    WEB = Format(width=680, temperature_height=240, strength_height=170, text=13)


@dataclass(frozen=True)
class Spot:
    """Where a label stands: on the axes, and shifted [px]."""

    minute: float
    value: float
    down: int = -7
    align: str = "left"


def _rows(bond: JointBond) -> list[Json]:
    names = [field.name for field in fields(bond.curve[0])] if bond.curve else []
    return [
        {
            name: None if (value := getattr(row, name)) is None else round(float(value), 3)
            for name in names
        }
        for row in bond.curve
    ]


def _axis(field: str, title: str, **more: Json) -> Mapping[str, Json]:
    return {"field": field, "type": "quantitative", "title": title, **more}


def _minutes() -> Mapping[str, Json]:
    return _axis("minute", "minutes after closing", scale={"nice": False})


def _band(low: str, high: str, colour: str, title: str) -> Mapping[str, Json]:
    return {
        "mark": {"type": "area", "color": colour, "opacity": PALE, "tooltip": None},
        "encoding": {"y": _axis(low, title), "y2": {"field": high}},
    }


def _line(field: str, colour: str, dash: Sequence[int], title: str) -> Mapping[str, Json]:
    mark: Mapping[str, Json] = {
        "type": "line",
        "color": colour,
        "strokeWidth": 2,
        "strokeDash": list(dash),
    }
    return {"mark": mark, "encoding": {"y": _axis(field, title)}}


def _word(spot: Spot, words: str, colour: str, title: str) -> Mapping[str, Json]:
    """A direct label, so that nothing hangs on colour alone."""
    return {
        "data": {"values": [{"minute": spot.minute, "value": spot.value, "words": words}]},
        "mark": {
            "type": "text",
            "align": spot.align,
            "dx": 4 if spot.align == "left" else -4,
            "dy": spot.down,
            "color": colour,
        },
        "encoding": {
            "x": _minutes(),
            "y": _axis("value", title),
            "text": {"field": "words"},
        },
    }


def _limit(value: float, title: str) -> Sequence[Mapping[str, Json]]:
    return [
        {
            "data": {"values": [{"minute": 0.0, "value": value}]},
            "mark": {"type": "rule", "color": LIMIT, "strokeDash": [2, 3], "strokeWidth": 1.5},
            "encoding": {"x": None, "y": _axis("value", title)},
        },
        _word(Spot(0.0, value), f"limit {value:.0f} °C", LIMIT, title),
    ]


def _moment(minute: float, spot: Spot, words: str, title: str) -> Sequence[Mapping[str, Json]]:
    return [
        {
            "data": {"values": [{"minute": minute}]},
            "mark": {"type": "rule", "color": LIMIT, "strokeDash": [6, 3]},
            "encoding": {"x": _minutes(), "y": None},
        },
        _word(spot, words, LIMIT, title),
    ]


def _readings(bond: JointBond, title: str) -> Sequence[Mapping[str, Json]]:
    if not bond.readings:
        return []
    values: list[Json] = [
        {"minute": check.minute, "value": check.value_C} for check in bond.readings
    ]
    return [
        {
            "data": {"values": values},
            "mark": {"type": "point", "shape": "diamond", "size": 60, "color": LIMIT},
            "encoding": {
                "x": _minutes(),
                "y": _axis("value", title),
            },
        }
    ]


def _heat_end(bond: JointBond) -> float:
    """Last minute of the temperature pane: an hour after the lamp, else the whole curve."""
    end = bond.curve[-1].minute
    switches = [stay.to_min for stay in bond.stays]
    return min(end, max(switches) + 60.0) if switches else end


def _temperature_pane(bond: JointBond, size: Format) -> Mapping[str, Json]:
    title, end = "temperature, °C", _heat_end(bond)
    layers: list[Json] = [
        _band("coldest_C_10", "coldest_C_90", COLD, title),
        _band("hottest_C_10", "hottest_C_90", HOT, title),
        _line("coldest_C", COLD, (5, 3), title),
        _line("hottest_C", HOT, (), title),
    ]
    shown = [row for row in bond.curve if row.minute <= end]
    for name, colour, below in (("coldest", COLD, 14), ("hottest", HOT, -7)):
        top = max(shown, key=lambda row: float(getattr(row, f"{name}_C")))
        spot = Spot(top.minute, float(getattr(top, f"{name}_C")), below, "right")
        layers.append(_word(spot, f"{name} spot", colour, title))
    if bond.limit_C is not None:
        layers += _limit(bond.limit_C, title)
    layers += _readings(bond, title)
    return {
        "width": size.width,
        "height": size.temperature_height,
        "transform": [{"filter": f"datum.minute <= {end:g}"}],
        "encoding": {"x": _minutes()},
        "layer": layers,
    }


def _strength_pane(bond: JointBond, size: Format) -> Sequence[Mapping[str, Json]]:
    last = bond.curve[-1]
    if last.strength_MPa is None:
        return []
    title = "strength, MPa"
    layers: list[Json] = [
        _band("strength_MPa_10", "strength_MPa_90", STRENGTH, title),
        _line("strength_MPa", STRENGTH, (), title),
    ]
    if bond.handle_min is not None:
        late = bond.handle_min.late
        layers += _moment(late, Spot(late, 0.0), "handle, at the latest", title)
    if bond.full_min is not None:
        late = bond.full_min.late
        layers += _moment(late, Spot(late, 0.0, align="right"), "full, at the latest", title)
    return [
        {
            "width": size.width,
            "height": size.strength_height,
            "encoding": {"x": _minutes()},
            "layer": layers,
        }
    ]


def _config(size: Format) -> Mapping[str, Json]:
    return {
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            "labelFontSize": size.text,
            "titleFontSize": size.text,
            "titleFontWeight": "normal",
            "gridColor": "#e4e4e4",
            "domainColor": "#8a8a8a",
            "tickColor": "#8a8a8a",
        },
        "text": {"fontSize": size.text},
        "title": {"fontSize": size.text + 2, "anchor": "start", "fontWeight": "bold"},
    }


def chart_of(bond: JointBond, place: Place = Place.PACKET) -> Mapping[str, Json]:
    """The chart of one joint: temperatures above, strength with its band below.

    Parameters
    ----------
    bond : JointBond
        With its curve [min, °C, MPa].
    place : Place
        Column of the packet or page of the web.

    Returns
    -------
    mapping
        Vega-Lite 5 specification; empty where the joint has no curve.

    References
    ----------
    Okabe M., Ito K. (2008) Color Universal Design (blue and orange, from memory); every line
    also differs by its dash and carries its name.
    """
    if not bond.curve:
        return {}
    size = place.value
    panes: list[Json] = [_temperature_pane(bond, size), *_strength_pane(bond, size)]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "description": f"Temperature and strength of joint {bond.joint} after closing",
        "title": f"Joint {bond.joint}: temperature and strength",
        "background": "white",
        "data": {"values": _rows(bond)},
        "vconcat": panes,
        "spacing": 18,
        "config": _config(size),
    }
