"""Charts of the pages: drawn by the worker process, for the engine takes its time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.bond.answer import JointBond
    from panelwright.plan.answer import PlanAnswer
    from panelwright.web.answers import Long


@dataclass(frozen=True)
class Chart:
    """A chart as far as it is drawn; without one there is nothing to draw, or it failed."""

    svg: str | None
    making: bool


NONE = Chart(None, making=False)


def of(long: Long) -> Chart:
    """Give the chart that long work has made."""
    drawn = long.value if isinstance(long.value, str) and long.value else None
    return Chart(drawn, making=not long.current)


def cure_svg(bond: JointBond) -> str:
    """Draw temperatures and strength of one joint."""
    from panelwright.bond.chart import Place, chart_of  # noqa: PLC0415 - only where it is drawn
    from panelwright.record.drawings import chart  # noqa: PLC0415

    return chart(chart_of(bond, Place.WEB))


def plan_svg(plan: PlanAnswer) -> str:
    """Draw the plan as bars; empty where there is nothing to draw."""
    from panelwright.plan.chart import Place  # noqa: PLC0415
    from panelwright.plan.chart import chart as chart_of  # noqa: PLC0415
    from panelwright.record.drawings import chart  # noqa: PLC0415

    specification = chart_of(plan, Place.WEB)
    return "" if specification is None else chart(specification)
