"""What must come off, and why: the least set of parts that lets the damage be reached."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.teardown.graph import COMES_OFF, REACHED, Graph, Joint, State

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


def _comes_out_with(graph: Graph, off: Mapping[str, Reason], joint: Joint) -> str | None:
    """The layer beneath the outermost one for whose sake the whole joint is opened, if any."""
    for layer in joint.layers[1:]:
        if layer in off and graph.part(layer).state is not State.SECTION:
            return layer
    return None


def _hangs_on(graph: Graph, off: Mapping[str, Reason]) -> dict[str, Reason]:
    """Parts that lie on top and are held by nothing but bolts that come out anyway."""
    found: dict[str, Reason] = {}
    for name in graph.place:
        joints = graph.joints_of(name)
        if name in off or not joints:
            continue
        if any(joint.kind not in BOLTED or joint.layers[0] != name for joint in joints):
            continue
        carriers = [_comes_out_with(graph, off, joint) for joint in joints]
        carrier = carriers[0]
        if carrier is not None and None not in carriers:
            words = f"{graph.label(name)} is held only by bolts that come out for "
            found[name] = Reason(words + graph.label(carrier), carrier)
    return found


def needs(graph: Graph) -> Needs:
    """The least set of parts that must come off.

    A part comes off if its state says so; if it hides a part that comes off or must be reached;
    or if it lies on top and is held only by bolts that come out anyway. Nothing else comes off.

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
