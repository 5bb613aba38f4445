"""Charts and drawings of the other rooms, brought to the job file's paper and fonts."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from panelwright.record.blocks import Figure
from panelwright.record.glyphs import FAMILIES, FONT_FOLDER

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.joints.answer import JointAnswer

VEGA_LITE = "v5.20"
_FONT = re.compile(r'font-family="[^"]*"')


def in_shipped_fonts(svg: str) -> str:
    """A drawing whose every text is set in the shipped fonts."""
    return _FONT.sub(f'font-family="{", ".join(FAMILIES)}"', svg)


@cache
def _register() -> None:
    import vl_convert  # noqa: PLC0415 - loaded only when a chart is drawn

    vl_convert.register_font_directory(str(FONT_FOLDER))


def chart(specification: Mapping[str, object]) -> str:
    """A Vega-Lite chart as SVG, its texts measured and set in the shipped fonts."""
    import vl_convert  # noqa: PLC0415

    _register()
    config = {"font": FAMILIES[0], "background": "white"}
    given = specification.get("config")
    whole = {**specification, "config": {**config, **(given if isinstance(given, dict) else {})}}
    svg: str = vl_convert.vegalite_to_svg(whole)
    return in_shipped_fonts(svg)


def flange(joint: JointAnswer) -> Figure | None:
    return None


def cure_chart(joint) -> str:
    rows = [{"t": r.minute / 60, "y": r.coldest_C, "k": "coldest"} for r in joint.curve] + [{"t": r.minute / 60, "y": r.hottest_C, "k": "hottest"} for r in joint.curve]
    return chart({"$schema": "https://vega.github.io/schema/vega-lite/v5.json", "width": 560, "height": 160, "data": {"values": rows}, "mark": "line", "encoding": {"x": {"field": "t", "type": "quantitative"}, "y": {"field": "y", "type": "quantitative"}, "color": {"field": "k", "type": "nominal"}}})


def plan_chart(plan) -> str:
    rows = [{"n": s.name, "a": s.start.isoformat(), "b": s.end.isoformat(), "who": s.by.value} for s in plan.steps]
    return chart({"$schema": "https://vega.github.io/schema/vega-lite/v5.json", "width": 480, "height": {"step": 11}, "data": {"values": rows}, "mark": "bar", "encoding": {"x": {"field": "a", "type": "temporal"}, "x2": {"field": "b"}, "y": {"field": "n", "type": "nominal", "sort": None}, "color": {"field": "who", "type": "nominal"}}})
