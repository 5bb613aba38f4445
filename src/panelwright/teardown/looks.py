"""Where to look, and when: what comes into view as parts come off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.teardown.answer import Look
from panelwright.teardown.graph import Graph, State

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def _moment(hiders: Sequence[str], order: Sequence[str]) -> str | None:
    off = [name for name in order if name in hiders]
    return off[-1] if off else None


def _words(graph: Graph, name: str, after: str | None, still: Sequence[str]) -> str:
    label = graph.label(name)
    if after is None:
        return f"Inspect {label} now: nothing hides it."
    words = (
        f"Inspect {label} as soon as {graph.label(after)} is off, before anything is cut further"
    )
    if graph.part(after).state is State.SECTION:
        words += "; only a section comes off, so see whether it can be reached through the cut"
    if still:
        hidden = " and ".join(graph.label(other) for other in still)
        words += f"; {hidden} still hides part of it"
    return words + "."


def looks(
    graph: Graph, order: Sequence[str], findings: Mapping[str, tuple[str, ...]]
) -> tuple[Look, ...]:
    """Parts to inspect, by the moment that they come into view.

    A part is looked at where its state asks for it, and where something that hides it comes off
    while the part itself is not to be replaced anyway.

    Parameters
    ----------
    graph : Graph
        Parts and who hides whom.
    order : sequence of str
        Parts as they come off.
    findings : mapping of str to tuple of str
        What has been found already, by part.

    Returns
    -------
    tuple of Look
        What can be seen now first, then as the hiding parts come off; ties by the file's order.
    """
    rank = {name: number for number, name in enumerate(order)}
    found: list[tuple[int, int, Look]] = []
    for name, place in graph.place.items():
        state = graph.part(name).state
        hiders = graph.hiders.get(name, ())
        after = _moment(hiders, order)
        asked = state is State.INSPECT
        if not asked and (after is None or state is State.REPLACE):
            continue
        still = [hider for hider in hiders if hider not in rank]
        words = _words(graph, name, after, still)
        look = Look(name, after, hiders, asked, findings.get(name, ()), words)
        found.append((-1 if after is None else rank[after], place, look))
    return tuple(look for _, _, look in sorted(found, key=lambda item: item[:2]))
