"""An independent check of a layout: plain loops, nothing shared with the program's own."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.joints.layout import Row

SLACK = 1e-4


def faults(row: Row, at_mm: tuple[float, ...]) -> list[str]:
    """Every rule that a row of rivets breaks, in words; empty where it breaks none."""
    found = []
    if len(at_mm) != len(row.ideal_mm):
        found.append(f"{len(at_mm)} rivets for {len(row.ideal_mm)}")
    for number, x in enumerate(at_mm):
        if x < row.low_mm + row.end_mm - SLACK or x > row.high_mm - row.end_mm + SLACK:
            found.append(f"{x} too near an end")
        for low, high in row.avoid_mm:
            head_low, head_high = x - row.half_head_mm, x + row.half_head_mm
            if head_high > low + SLACK and head_low < high - SLACK:
                found.append(f"head at {x} on {low} to {high}")
        found += [
            f"{x} too near the old hole {old}"
            for old in row.old_mm
            if abs(x - old) < row.old_clearance_mm - SLACK
        ]
        if number and x - at_mm[number - 1] < row.pitch_mm - SLACK:
            found.append(f"{at_mm[number - 1]} and {x} too near each other")
    return found


@dataclass(frozen=True)
class Best:
    """The least cost there is and the number of rivets before their ideal place at that cost."""

    cost_mm: float
    early: int


def best_of_all(row: Row, grid_mm: float) -> Best | None:
    """Try every choice of grid places; None where none keeps the rules."""
    first = round(row.low_mm / grid_mm)
    last = round(row.high_mm / grid_mm)
    single = [
        place * grid_mm
        for place in range(first, last + 1)
        if all("rivets for" in fault for fault in faults(row, (place * grid_mm,)))
    ]
    best: tuple[int, int] | None = None
    for at in combinations(single, len(row.ideal_mm)):
        if faults(row, at):
            continue
        pairs = list(zip(at, row.ideal_mm, strict=True))
        cost = sum(round(1000 * abs(x - ideal)) for x, ideal in pairs)
        early = sum(x < ideal - 1e-6 for x, ideal in pairs)
        if best is None or (cost, early) < best:
            best = (cost, early)
    return Best(best[0] / 1000, best[1]) if best else None
