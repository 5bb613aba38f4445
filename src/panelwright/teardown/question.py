"""What must come off, what may hide behind it: the question answered for one repair."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.errors import Unanswerable
from panelwright.facts.problem import Problem
from panelwright.sources import Basis, Source, merge
from panelwright.teardown.answer import (
    Action,
    Answer,
    Carried,
    Released,
    Removal,
    Separation,
    Stretch,
)
from panelwright.teardown.carried import carried
from panelwright.teardown.doubts import doubts
from panelwright.teardown.graph import Graph, State, graph_of
from panelwright.teardown.looks import looks
from panelwright.teardown.needs import Needs, needs
from panelwright.teardown.order import Order, hiding, order, overlapping
from panelwright.teardown.safety import first, removal_cautions
from panelwright.teardown.separate import separation

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair

ACTIONS = {State.REPLACE: Action.REPLACE, State.SECTION: Action.SECTION}


def _action(graph: Graph, name: str) -> Action:
    return ACTIONS.get(graph.part(name).state, Action.REFIT)


def _removals(repair: Repair, graph: Graph, need: Needs, names: tuple[str, ...]) -> list[Removal]:
    opened: set[str] = set()
    found = []
    for name in names:
        joints = [joint.id for joint in graph.opened_by(name) if joint.id not in opened]
        opened.update(joints)
        found.append(
            Removal(
                part=name,
                name=graph.label(name),
                action=_action(graph, name),
                opens=tuple(joints),
                why=need.chain(name),
                cautions=removal_cautions(repair, name),
            )
        )
    return found


def _stretches(graph: Graph, joint: str, frees: tuple[str, ...]) -> tuple[Stretch, ...]:
    """What of a joint is opened: nothing named stands for all of it."""
    found: list[Stretch] = []
    for name in frees:
        part = graph.part(name)
        if part.state is not State.SECTION:
            return ()
        found += [stretch for where, stretch in part.section if where == joint]
    whole = any(stretch == Stretch() for stretch in found)
    return () if whole else tuple(dict.fromkeys(found))


def _separations(repair: Repair, graph: Graph, removals: list[Removal]) -> tuple[Separation, ...]:
    frees: dict[str, list[str]] = {}
    for removal in removals:
        for joint in graph.opened_by(removal.part):
            frees.setdefault(joint.id, []).append(removal.part)
    opens = [joint for removal in removals for joint in removal.opens]
    return tuple(
        separation(
            repair,
            repair.joint_by_id[joint],
            tuple(frees[joint]),
            _stretches(graph, joint, tuple(frees[joint])),
        )
        for joint in opens
    )


def _released(graph: Graph, removals: list[Removal]) -> tuple[Released, ...]:
    off = {removal.part for removal in removals}
    found: dict[tuple[str, str, str], Released] = {}
    for removal in removals:
        for joint in graph.opened_by(removal.part):
            own = joint.layers.index(removal.part)
            for layer in joint.layers[:own]:
                if layer not in off:
                    stays, comes = graph.label(layer), graph.label(removal.part)
                    words = (
                        f"{stays} stays on top at {joint.id}: free its flange, slide {comes} out "
                        f"from under it and do not bend it up. If {comes} will not come out, set "
                        f'{layer} to "remove-and-refit".'
                    )
                    key = (joint.id, layer, removal.part)
                    found[key] = Released(joint.id, layer, removal.part, words)
    return tuple(found.values())


def _near(graph: Graph, need: Needs, names: tuple[str, ...]) -> list[str]:
    """Parts that stay and are worked on: to be reached, or held by a joint that is opened."""
    opened = [joint for name in names for joint in graph.opened_by(name)]
    touched = {layer for joint in opened for layer in joint.layers} | set(need.reached)
    return [name for name in graph.place if name in touched and name not in need.off]


def _carried(
    repair: Repair, graph: Graph, need: Needs, names: tuple[str, ...]
) -> tuple[Carried, ...]:
    off: list[tuple[str, Action | None]] = [(name, _action(graph, name)) for name in names]
    stays: list[tuple[str, Action | None]] = [(name, None) for name in _near(graph, need, names)]
    return tuple(
        carried(name, what, action)
        for name, action in off + stays
        for what in dict.fromkeys(repair.part_by_id[name].carries)
    )


def _findings(repair: Repair) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for finding in repair.findings:
        found[finding.part] = (*found.get(finding.part, ()), finding.what)
    return found


def _rings(graph: Graph, found: Order) -> tuple[str, ...]:
    return tuple(" hides ".join(graph.label(name) for name in ring) for ring in found.rings)


def _together(graph: Graph, found: Order) -> tuple[str, ...]:
    return tuple(
        f"{' lies over '.join(graph.label(name) for name in ring)}: open all joints between them, "
        "then take them off together."
        for ring in found.interlocked
    )


def _sources(repair: Repair) -> tuple[Source, ...]:
    file = Source(Basis.SHOP, "parts, joints and states as the repair file gives them")
    named = repair.procedure
    if not named.reference:
        return (file,)
    text = " ".join(word for word in (named.reference, named.revision) if word)
    return (Source(Basis.PROCEDURE, text), file)


def _refuse(repair: Repair) -> None:
    if not repair.parts:
        raise Unanswerable(
            (
                "No part is named.",
                'Give each part near the damage a [[part]] with id and state, such as "replace".',
            )
        )
    if all(State(part.state) is State.KEEP for part in repair.parts):
        raise Unanswerable(
            (
                'No part is marked as damaged: every state is "keep".',
                "Mark what is hit as repair, section, replace or inspect, or record a finding.",
            )
        )


def answer(repair: Repair) -> Answer:
    """Say what must come off, in which order, and where to look behind it.

    Parameters
    ----------
    repair : Repair
        Its parts (state, hides, carries, section), joints (layers outermost first) and findings.

    Returns
    -------
    Answer
        Joints to open, parts in order, parts to inspect with the moment; what does not fit is
        in `problems`.

    Raises
    ------
    Unanswerable
        No part is named, or none is marked as damaged.
    """
    _refuse(repair)
    graph = graph_of(repair)
    need = needs(graph)
    names = graph.in_order(frozenset(need.off))
    hides = hiding(graph, graph.place)
    found = order(names, hiding(graph, names), overlapping(graph, names))
    removals = _removals(repair, graph, need, found.parts)
    separations = _separations(repair, graph, removals)
    cares = _carried(repair, graph, need, found.parts)
    every_ring = order(tuple(graph.place), hides, frozenset())
    cycles = _rings(graph, every_ring)
    rings = tuple(
        Problem("part.hides", f"{ring}: parts cannot hide each other; correct one of them")
        for ring in cycles
    )
    return Answer(
        open=tuple(joint.joint for joint in separations),
        order=found.parts,
        look=looks(graph, found.parts, _findings(repair)),
        refit=tuple(removal.part for removal in removals if removal.action is Action.REFIT),
        removals=tuple(removals),
        separations=separations,
        carried=cares,
        first=first(repair, cares),
        released=_released(graph, removals),
        together=_together(graph, found),
        cycles=cycles,
        problems=rings + doubts(repair, graph, need),
        sources=merge(
            _sources(repair),
            *(joint.sources for joint in separations),
            *(care.sources for care in cares),
        ),
    )
