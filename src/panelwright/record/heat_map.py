"""The panel under its lamp, drawn: warmth in steps, the lamp's outline, its extreme spots."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import show_length, show_temperature
from panelwright.record import strokes
from panelwright.record.labels import text_width_mm
from panelwright.record.strokes import ACCENT, INK, SOFT

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from panelwright.bond.warmth import HeatMap
    from panelwright.quantities import Units

WIDE_MM = 82.0
"""Two of them fill the width of a page."""
MARGIN, HEAD, FOOT = 1.5, 5.0, 12.5
STEPS = ("#f7ece3", "#efd3bd", "#e5b48f", "#d98f5d", "#c8641e", "#96440d")
"""One hue from pale to dark, so that it is read without colours too."""
HALO = 'fill="#ffffff" fill-opacity="0.85"'


def step_C(low_C: float, high_C: float) -> tuple[float, float]:
    """Where the steps of warmth begin and how wide they are, in whole 5 K.

    Parameters
    ----------
    low_C, high_C : float
        Coldest and hottest of all maps that are shown together [°C].

    Returns
    -------
    tuple of float
        First boundary and width [°C, K].
    """
    first = 5.0 * (low_C // 5.0)
    width = 5.0
    while first + width * len(STEPS) < high_C:
        width += 5.0
    return first, width


def drawn_all(maps: Sequence[HeatMap], units: Units) -> tuple[tuple[str, str], ...]:
    """Maps of one joint with the same steps of warmth, so that they are read side by side.

    Parameters
    ----------
    maps : sequence of HeatMap
    units : Units

    Returns
    -------
    tuple of (str, str)
        SVG, and what it shows in words.
    """
    if not maps:
        return ()
    every = [celsius for one in maps for row in one.celsius for celsius in row]
    scale_C = step_C(min(every), max(every))
    return tuple((drawn(one, units, scale_C), _caption(one, units)) for one in maps)


def _caption(one: HeatMap, units: Units) -> str:
    lamps = " and ".join(
        f"{lamp.lamp} before {show_length(lamp.centre_mm[0], units, 10.0)}, "
        f"{show_length(lamp.distance_mm, units, 10.0)} off"
        for lamp in one.lamps
    )
    along, across = (show_length(mm, units, 0.1) for mm in one.growth_mm)
    return (
        f"Minute {one.to_min:.0f}: {lamps}. Coldest {show_temperature(one.coldest[1], units)} at "
        f"{show_length(one.coldest[0], units, 10.0)}, hottest "
        f"{show_temperature(one.hottest[1], units)} at {show_length(one.hottest[0], units, 10.0)}. "
        f"The metal has grown by {along} along the joint and {across} across it."
    )


def _label(words: str, at: tuple[float, float], wide: float) -> list[str]:
    """A text on a pale ground, held within the drawing."""
    size = text_width_mm(words) + 1.0
    left = min(max(at[0], MARGIN), wide - size - MARGIN)
    ground = strokes.box((left, at[1] - 2.6), size, 3.4, HALO)
    return [ground, strokes.words(words, (left + 0.5, at[1]))]


def drawn(one: HeatMap, units: Units, scale_C: tuple[float, float], wide: float = WIDE_MM) -> str:
    """One map as SVG.

    Parameters
    ----------
    one : HeatMap
    units : Units
    scale_C : tuple of float
        By `step_C`, the same for maps side by side.
    wide : float
        Of the drawing [mm].

    Returns
    -------
    str
    """
    scale = (wide - 2 * MARGIN) / (one.along_mm[-1] - one.along_mm[0])
    high = (one.across_mm[-1] - one.across_mm[0]) * scale

    def x(mm: float) -> float:
        return MARGIN + (mm - one.along_mm[0]) * scale

    def y(mm: float) -> float:
        return HEAD + (one.across_mm[-1] - mm) * scale

    title = f"minute {one.from_min:.0f} to {one.to_min:.0f}, as at its end"
    shapes = [strokes.words(title, (MARGIN, 3.4))]
    for number, row in enumerate(one.celsius):
        below, above = one.across_mm[number : number + 2]
        for at, celsius in enumerate(row):
            left, right = one.along_mm[at : at + 2]
            fill = f'fill="{STEPS[_step(celsius, scale_C)]}"'
            size = ((right - left) * scale + 0.05, (above - below) * scale + 0.05)
            shapes.append(strokes.box((x(left), y(above)), *size, fill))
    flange = 'fill="none" stroke="#16191d" stroke-width="0.25"'
    middle = (x(0.0), y(0.5 * one.flange_mm))
    shapes.append(strokes.box(middle, one.length_mm * scale, one.flange_mm * scale, flange))
    for lamp in one.lamps:
        along, across = lamp.size_mm
        corner = (x(lamp.centre_mm[0] - along / 2), y(lamp.centre_mm[1] + across / 2))
        outline = f'fill="none" stroke="{ACCENT}" stroke-width="0.6" stroke-dasharray="2 1"'
        shapes.append(strokes.box(corner, along * scale, across * scale, outline))
        words = f"{lamp.lamp}, {show_length(lamp.distance_mm, units, 10.0)} off"
        shapes += _label(words, (corner[0], corner[1] - 0.8), wide)
    shapes += _spots(one, units, x, y(0.0), wide)
    shapes += _legend(units, scale_C, HEAD + high + 4.0, wide)
    return strokes.drawing(wide, HEAD + high + FOOT, shapes)


def _step(celsius: float, scale_C: tuple[float, float]) -> int:
    first, width = scale_C
    return int(min(max((celsius - first) // width, 0), len(STEPS) - 1))


def _spots(
    one: HeatMap, units: Units, x: Callable[[float], float], middle: float, wide: float
) -> list[str]:
    """Coldest spot as a triangle that points down, hottest as one that points up."""
    shapes: list[str] = []
    for name, (mm, celsius), turn in (
        ("coldest", one.coldest, 1.0),
        ("hottest", one.hottest, -1.0),
    ):
        tip, style = x(mm), f'fill="#ffffff" stroke="{INK}" stroke-width="0.35"'
        corners = (
            (tip, middle + 1.3 * turn),
            (tip - 1.5, middle - 1.3 * turn),
            (tip + 1.5, middle - 1.3 * turn),
        )
        words = f"{name} {show_temperature(celsius, units)} at {show_length(mm, units, 10.0)}"
        shapes.append(strokes.polygon(corners, style))
        shapes += _label(words, (tip + 2.4, middle + (6.6 if turn > 0 else 10.4)), wide)
    return shapes


def _legend(units: Units, scale_C: tuple[float, float], top: float, wide: float) -> list[str]:
    """The steps of warmth with where each begins."""
    first, width = scale_C
    each = (wide - 2 * MARGIN) / len(STEPS)
    shapes = []
    for number, colour in enumerate(STEPS):
        left = MARGIN + number * each
        frame = f'fill="{colour}" stroke="{SOFT}" stroke-width="0.15"'
        shapes.append(strokes.box((left, top), each, 2.6, frame))
        words = show_temperature(first + number * width, units)
        shapes.append(strokes.words(words, (left, top + 6.2)))
    return shapes
