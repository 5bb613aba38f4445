"""Working hours that a plan can use, and steps that do not chase each other."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from panelwright.facts.checks.names import cycles
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.document import Document

_SHIFT = re.compile(r"^([01]?\d|2[0-3]):([0-5]\d)-([01]?\d|2[0-4]):([0-5]\d)$")


def _minutes(match: re.Match[str], first: int) -> int:
    return int(match.group(first)) * 60 + int(match.group(first + 1))


def shop_fits(document: Document) -> Iterator[Problem]:
    """The shop has hours, days and a time zone that a plan can use."""
    shop = document.shop
    try:
        ZoneInfo(shop.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        yield Problem("shop.zone", f"{shop.zone!r} is no time zone; write one like Europe/Berlin")
    ends = 0
    if not shop.shift:
        yield Problem("shop.shift", 'no working hours; write them like "07:30-12:00"')
    if not shop.days:
        yield Problem("shop.days", 'no working days; write them like ["Mon", "Tue"]')
    for number, text in enumerate(shop.shift):
        where = f"shop.shift[{number}]"
        match = _SHIFT.match(text.strip())
        if match is None or _minutes(match, 3) > 24 * 60:
            yield Problem(where, f'{text!r} is no stretch of hours; write it like "07:30-12:00"')
            continue
        start, end = _minutes(match, 1), _minutes(match, 3)
        if end <= start:
            yield Problem(where, f"{text!r} ends before it starts; split a night shift at 24:00")
        elif start < ends:
            yield Problem(where, f"{text!r} starts before the one above it ends")
        ends = max(ends, end)


def steps_fit(document: Document) -> Iterator[Problem]:
    """Steps come after one another without circles."""
    after = {step.id: [name for name in step.after if name != step.id] for step in document.step}
    for number, step in enumerate(document.step):
        if step.id in step.after:
            yield Problem(f"step[{number}].after", f"{step.id!r} cannot come after itself")
    yield from cycles(after, "step", "after")
