"""Ids used once; parts, findings, pads and joints that refer to one another."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from panelwright.facts.checks.names import cycles, known, missing
from panelwright.facts.problem import Problem
from panelwright.facts.repair import BODY

if TYPE_CHECKING:

    class Named(Protocol):
        """Anything with an id."""

        @property
        def id(self) -> str:
            """The id."""

    from collections.abc import Iterator

    from panelwright.facts.models.document import Document


def duplicates(document: Document) -> Iterator[Problem]:
    """Ids are used once."""
    named: dict[str, tuple[Named, ...]] = {
        "part": document.part,
        "joint": document.joint,
        "point": document.point,
        "tool": document.tool,
        "station": document.station,
        "contact": document.contact,
        "locator": document.locator,
        "adhesive": document.adhesive,
        "rivet": document.rivet,
        "lamp": document.lamp,
        "step": document.step,
    }
    for table, items in named.items():
        seen: set[str] = set()
        for number, item in enumerate(items):
            if item.id in seen:
                where = f"{table}[{number}].id"
                yield Problem(where, f"{item.id!r} is used twice; give it another")
            seen.add(item.id)
    readings = Counter(reading.id for reading in document.reading if reading.id)
    for name, count in readings.items():
        if count > 1:
            yield Problem("reading", f"the id {name!r} is used {count} times; give each its own")
    for number, part in enumerate(document.part):
        if part.id == BODY:
            yield Problem(f"part[{number}].id", f"{BODY!r} means the body itself; use another id")


def parts_fit(document: Document) -> Iterator[Problem]:
    """What parts hide, findings and pads refer to parts that are there, without circles."""
    parts = known(part.id for part in document.part)
    joints = known(joint.id for joint in document.joint)
    for number, part in enumerate(document.part):
        for hidden in part.hides:
            where = f"part[{number}].hides"
            if hidden == part.id:
                yield Problem(where, f"{part.id!r} cannot hide itself; take it out of its own list")
            else:
                yield from missing(where, hidden, parts, "part")
        for cut in part.section:
            yield from missing(f"part[{number}].section", cut.joint, joints, "joint")
    for number, finding in enumerate(document.finding):
        yield from missing(f"finding[{number}].part", finding.part, parts, "part")
    for number, pad in enumerate(document.pad):
        yield from missing(f"pad[{number}].part", pad.part, parts, "part")
    yield from cycles(
        {part.id: [hidden for hidden in part.hides if hidden != part.id] for part in document.part},
        "part",
        "hides",
    )


def joints_fit(document: Document) -> Iterator[Problem]:
    """Joints hold parts that are there, each once, with an adhesive that is described."""
    parts = known((part.id for part in document.part), (BODY,))
    adhesives = known(adhesive.id for adhesive in document.adhesive)
    for number, joint in enumerate(document.joint):
        where = f"joint[{number}]"
        for layer in joint.layers:
            yield from missing(f"{where}.layers", layer, parts, "part")
        if len(set(joint.layers)) < len(joint.layers):
            yield Problem(f"{where}.layers", f"{list(joint.layers)} names a part twice")
        for low, high in joint.avoid:
            if high.mm <= low.mm:
                yield Problem(
                    f"{where}.avoid", f"{low.typed!r} to {high.typed!r} ends before it starts"
                )
        if joint.remake and joint.remake.adhesive:
            named = joint.remake.adhesive
            unknown = missing(f"{where}.remake.adhesive", named, adhesives, "adhesive")
            yield from (replace(problem, hard=False) for problem in unknown)
