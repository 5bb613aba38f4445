"""One want of one repair, before wants are added up to the parts list."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.sources import Source


@dataclass(frozen=True)
class Want:
    """So much of an item for one repair; `bad` where it is missing or useless on its day."""

    repair: str
    item: str
    need: float
    unit: str
    for_: tuple[str, ...]
    have: float | None = None
    note: str = ""
    bad: bool = False
    sources: tuple[Source, ...] = ()
    once: bool = False
    """Equipment of the shop: one serves every repair."""
