"""What must come off, and why: the least set of parts that lets the damage be reached."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.teardown.graph import COMES_OFF, REACHED, Graph, State

if TYPE_CHECKING:
    from collections.abc import Mapping

BOLTED = frozenset({"bolt"})

_OWN = {
    State.REPLACE: "{name} is replaced",
    State.SECTION: "{name} is sectioned",
    State.REFIT: "{name} is to be removed and refitted",
    State.REPAIR: "{name} is to be repaired",
    State.INSPECT: "{name} is to be inspected",
}


@dataclass(frozen=True)
class Reason:
    """Why a part comes off: in itself (`because_of` None), or for another part's sake."""

    words: str
    because_of: str | None = None


@dataclass(frozen=True)
class Needs:
    """What comes off and what has to be reached, each with its reason.

    Parameters
    ----------
    off : mapping of str to Reason
        Parts that come off.
    reached : mapping of str to Reason
        Parts that stay and must be reached.
    """

    off: Mapping[str, Reason]
    reached: Mapping[str, Reason]

    def chain(self, name: str) -> tuple[str, ...]:
        """The reasons from a part to the damage, one sentence each."""
        words: list[str] = []
        seen: set[str] = set()
        step: str | None = name
        while step is not None and step not in seen:
            seen.add(step)
            reason = self.off.get(step) or self.reached[step]
            words.append(reason.words)
            step = reason.because_of
        return tuple(words)


def _hangs_on(graph: Graph, off: Mapping[str, Reason]) -> dict[str, Reason]:
    """Bolted-on parts that sit outermost on parts that come off and on nothing else."""
    found: dict[str, Reason] = {}
    for part in graph.parts:
        joints = graph.joints_of(part.id)
        if part.id in off or not joints:
            continue
        carriers = []
        for joint in joints:
            beneath = [layer for layer in joint.layers if layer != part.id]
            whole = [
                layer
                for layer in beneath
                if layer in off and graph.part(layer).state is not State.SECTION
            ]
            if joint.kind not in BOLTED or joint.layers[0] != part.id or whole != beneath:
                break
            carriers.extend(whole)
        else:
            if carriers:
                words = f"{part.label} is bolted to {graph.label(carriers[0])} and nothing else"
                found[part.id] = Reason(words, carriers[0])
    return found


def needs(graph: Graph) -> Needs:
    """The least set of parts that must come off.

    A part comes off if its state says so; if it hides a part that comes off or must be reached;
    or if it is bolted onto parts that come off and onto nothing else. Nothing else comes off.

    Parameters
    ----------
    graph : Graph
        Parts and joints; a layer that is no declared part is taken to stay.

    Returns
    -------
    Needs
        With the shortest chain of reasons for each part, ties by the file's order.
    """
    off: dict[str, Reason] = {}
    reached: dict[str, Reason] = {}
    for part in graph.parts:
        if part.state in COMES_OFF:
            off.setdefault(part.id, Reason(_OWN[part.state].format(name=part.label)))
        elif part.state in REACHED:
            reached.setdefault(part.id, Reason(_OWN[part.state].format(name=part.label)))
    front = [name for name in graph.place if name in off or name in reached]
    while front:
        ahead: list[str] = []
        for name in front:
            for hider in graph.hiders.get(name, ()):
                if hider not in off:
                    words = f"{graph.label(hider)} hides {graph.label(name)}"
                    off[hider] = Reason(words, name)
                    ahead.append(hider)
        if not ahead:
            hanging = _hangs_on(graph, off)
            off.update(hanging)
            ahead = list(hanging)
        front = ahead
    return Needs(off, reached)
