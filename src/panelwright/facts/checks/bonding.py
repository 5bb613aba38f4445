"""Lamps, temperatures and events that name what is there and come in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.checks.names import known, missing
from panelwright.facts.models.bonding import COUNTING
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.document import Document


def bonding_fits(document: Document) -> Iterator[Problem]:
    """Heatings, temperatures and events name what is there and make sense."""
    joints = known(joint.id for joint in document.joint)
    lamps = known(lamp.id for lamp in document.lamp)
    parts = known(part.id for part in document.part)
    for number, heating in enumerate(document.heating):
        where = f"heating[{number}]"
        yield from missing(f"{where}.joint", heating.joint, joints, "joint")
        yield from missing(f"{where}.lamp", heating.lamp, lamps, "lamp")
        if heating.distance.mm <= 0:
            yield Problem(
                f"{where}.distance",
                f"{heating.distance.typed!r}: a lamp stands some way off; measure glass to panel",
                hard=False,
            )
        for stay in heating.stays:
            if stay.to.minutes <= stay.from_.minutes:
                yield Problem(
                    f"{where}.stays",
                    f"{stay.from_.typed!r} to {stay.to.typed!r} ends before it starts",
                    hard=False,
                )
    for number, temperature in enumerate(document.temperature):
        yield from missing(f"temperature[{number}].joint", temperature.joint, joints, "joint")
    for number, event in enumerate(document.event):
        where = f"event[{number}]"
        if event.joint is not None:
            yield from missing(f"{where}.joint", event.joint, joints, "joint")
        if event.part is not None:
            yield from missing(f"{where}.part", event.part, parts, "part")
        if event.kind in COUNTING and (event.joint is None or event.count is None):
            yield Problem(where, f'"{event.kind}" needs joint and count', hard=False)
        if event.kind == "moved" and (event.part is None or event.setting is None):
            yield Problem(where, "a move names its part and the setting that begins with it")
