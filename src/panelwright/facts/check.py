"""What in a document does not fit together: references, duplicates, cycles, odd values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.checks.adjusters import adjusters_fit
from panelwright.facts.checks.bonding import bonding_fits
from panelwright.facts.checks.parts import duplicates, joints_fit, parts_fit
from panelwright.facts.checks.points import points_fit
from panelwright.facts.checks.readings import readings_fit
from panelwright.facts.checks.shop import shop_fits, steps_fit
from panelwright.facts.checks.tools import parts_hang, tools_fit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from panelwright.facts.models.document import Document
    from panelwright.facts.problem import Problem

CHECKS: tuple[Callable[[Document], Iterator[Problem]], ...] = (
    duplicates,
    parts_fit,
    joints_fit,
    points_fit,
    adjusters_fit,
    readings_fit,
    tools_fit,
    parts_hang,
    bonding_fits,
    shop_fits,
    steps_fit,
)


def check(document: Document) -> list[Problem]:
    """Everything in a document that does not fit together.

    Parameters
    ----------
    document : Document
        A document whose tables are valid each by itself.

    Returns
    -------
    list of Problem
        Each once, in the order of the checks; empty where all fits.
    """
    return list(dict.fromkeys(problem for check in CHECKS for problem in check(document)))
