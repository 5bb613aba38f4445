"""Charts and drawings of the other rooms, brought to the job file's paper and fonts."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from contextlib import suppress
from functools import cache, lru_cache
from threading import Thread
from typing import TYPE_CHECKING

from panelwright.record.glyphs import FAMILIES, FONT_FOLDER
from panelwright.record.typeset import TypesetError

if TYPE_CHECKING:
    from panelwright.bond.answer import JointBond
    from panelwright.plan.answer import PlanAnswer

SMALLEST: Mapping[str, object] = {
    "data": {"values": [{"x": 0}]},
    "mark": "point",
    "encoding": {"x": {"field": "x", "type": "quantitative"}},
}
"""A chart of one point, to start the engine with."""

_FONT = re.compile(r'font-family="[^"]*"')


def in_shipped_fonts(svg: str) -> str:
    """A drawing whose every text is set in the shipped fonts."""
    return _FONT.sub(f'font-family="{", ".join(FAMILIES)}"', svg)


@cache
def _register() -> None:
    import vl_convert  # noqa: PLC0415 - loaded only when a chart is drawn

    vl_convert.register_font_directory(str(FONT_FOLDER))


@lru_cache(maxsize=64)
def _drawn(specification: str) -> str:
    import vl_convert  # noqa: PLC0415

    _register()
    try:
        svg: str = vl_convert.vegalite_to_svg(specification)
    except ValueError as error:
        raise TypesetError(f"a chart could not be drawn: {error}") from error
    return in_shipped_fonts(svg)


def chart(specification: Mapping[str, object]) -> str:
    """A Vega-Lite chart as SVG, its texts measured and set in the shipped fonts."""
    given = specification.get("config")
    config = {**(given if isinstance(given, dict) else {}), "font": FAMILIES[0]}
    whole = {"background": "white", **specification, "config": config}
    return _drawn(json.dumps(whole, sort_keys=True, allow_nan=False))


def warm_up() -> None:
    """Start the chart engine aside: it takes half a second and does not hold up other work."""
    Thread(target=_started, daemon=True).start()


def _started() -> None:
    with suppress(TypesetError):  # what fails here fails again, and is said, where it is needed
        chart(SMALLEST)


PANE_WIDTH, PANE_HEIGHT, PANE_TEXT = 278, 86, 10
"""Of each pane of the cure chart [px at 96 px/in]: two of them fill the width of a page."""


def cure_chart(bond: JointBond) -> str:
    """Temperatures and strength of one joint, side by side."""
    from panelwright.bond.chart import Place, chart_of  # noqa: PLC0415

    whole = dict(chart_of(bond, Place.PACKET))
    panes = whole.pop("vconcat", ())
    whole.pop("title", None)
    size = {"width": PANE_WIDTH, "height": PANE_HEIGHT}
    if isinstance(panes, list):
        whole["hconcat"] = [{**pane, **size} for pane in panes if isinstance(pane, dict)]
    return chart({**whole, "config": _smaller(whole.get("config"))})


def _smaller(config: object) -> dict[str, object]:
    """A chart's settings with its text at the size of the small panes."""
    given = dict(config) if isinstance(config, dict) else {}
    axis = given.get("axis")
    sizes = {"labelFontSize": PANE_TEXT, "titleFontSize": PANE_TEXT}
    given["axis"] = {**(axis if isinstance(axis, dict) else {}), **sizes}
    return {**given, "text": {"fontSize": PANE_TEXT}}


def plan_chart(plan: PlanAnswer) -> str | None:
    """The plan as bars; None where there is nothing to draw."""
    from panelwright.plan.chart import chart as chart_of  # noqa: PLC0415

    specification = chart_of(plan)
    return None if specification is None else chart(specification)
