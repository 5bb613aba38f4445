"""Tools that say what they are, and closures that are hung or off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.checks.readings import BUILT_IN_TOOLS
from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.document import Document
    from panelwright.facts.models.geometry import Tool

_HANGS = frozenset({"hung", "off", "pinned"})


def tools_fit(document: Document) -> Iterator[Problem]:
    """Tools have an uncertainty, and no key that only another kind of tool has."""
    for number, tool in enumerate(document.tool):
        where = f"tool[{number}]"
        kind = tool.kind or (tool.id if tool.id in BUILT_IN_TOOLS else None)
        if kind is None and tool.u is None:
            yield Problem(
                f"{where}.u",
                f"how surely does {tool.id!r} read? give u, or say what it is with kind",
            )
        yield from _of_its_kind(where, tool, kind)


def _of_its_kind(where: str, tool: Tool, kind: str | None) -> Iterator[Problem]:
    owned: tuple[tuple[str, bool, str], ...] = (
        ("class", tool.class_ is not None, "tape"),
        ("hook", tool.hook, "tape"),
        ("pointer_u", tool.pointer_u is not None, "tram"),
        ("floor", tool.floor is not None, "level"),
    )
    for key, is_said, owner in owned:
        if is_said and kind != owner:
            yield Problem(
                f"{where}.{key}",
                f"only a {owner} has this; say kind = {owner!r} or leave it out",
                hard=False,
            )
    if tool.hook and tool.class_ is None:
        yield Problem(
            f"{where}.hook",
            "what a hook adds is known by the class of the tape: give class, such as "
            '"II"; until then it adds nothing',
            hard=False,
        )


def parts_hang(document: Document) -> Iterator[Problem]:
    """Spring belongs to skins, and what is hung, taken off or pinned is named."""
    for number, part in enumerate(document.part):
        if part.spring is not None and part.flex != "skin" and part.spring.mm > 0.0:
            yield Problem(
                f"part[{number}].spring",
                f"{part.id!r} is a {part.flex} and is taken as rigid; only a skin springs",
                hard=False,
            )
    for number, event in enumerate(document.event):
        if event.kind in _HANGS and event.part is None:
            yield Problem(f"event[{number}].part", f'"{event.kind}" needs the part', hard=False)
