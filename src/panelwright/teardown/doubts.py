"""What the file leaves open about taking parts off, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.assumed import to_confirm
from panelwright.facts.problem import Problem
from panelwright.facts.repair import BODY
from panelwright.teardown.graph import Graph, State

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.repair import Repair
    from panelwright.teardown.needs import Needs


def _unknown(graph: Graph) -> Iterator[Problem]:
    for part in graph.parts:
        for hidden in part.hides:
            if hidden == part.id:
                yield Problem(f"part {part.id}", "hides itself; take it out of its own list")
            elif not graph.knows(hidden):
                yield Problem(
                    f"part {part.id}", f"hides {hidden!r}, which is no part of this file; left out"
                )
    for joint in graph.joints:
        for layer in joint.layers:
            if layer != BODY and not graph.knows(layer):
                yield Problem(
                    f"joint {joint.id}",
                    f"layer {layer!r} is no part of this file; taken as one that stays",
                )


def _sections(graph: Graph) -> Iterator[Problem]:
    for part in graph.parts:
        where = f"part {part.id}"
        if part.state is State.SECTION and not part.section:
            yield Problem(
                where,
                "is sectioned, but no stretch is named; give section = "
                '[{ joint = "…", from = "…", to = "…" }] from the procedure',
            )
        held = {joint.id for joint in graph.joints_of(part.id)}
        for joint, stretch in part.section:
            if joint not in held:
                yield Problem(
                    where, f"section names joint {joint!r}, which does not hold it; left out"
                )
            low, high = stretch.from_mm, stretch.to_mm
            if low is not None and high is not None and high <= low:
                yield Problem(
                    where, f"section of {joint!r} goes from {low:g} mm to {high:g} mm; swap them"
                )


def _past_end(repair: Repair) -> Iterator[Problem]:
    for part in repair.parts:
        for cut in part.section:
            joint = repair.joint_by_id.get(cut.joint)
            if joint is None or joint.length is None:
                continue
            ends = [end.mm for end in (cut.from_, cut.to) if end is not None]
            if ends and max(ends) > joint.length.mm:
                yield Problem(
                    f"part {part.id}",
                    f"section of {cut.joint!r} reaches {max(ends):g} mm, but the joint is "
                    f"{joint.length.mm:g} mm long",
                )


def _held_by_nothing(graph: Graph, need: Needs) -> Iterator[Problem]:
    """Outermost parts that lose their hold; inner ones are taken to stand on the body."""
    whole = {
        joint.id
        for name in need.off
        if graph.part(name).state is not State.SECTION
        for joint in graph.opened_by(name)
    }
    for name in graph.place:
        joints = graph.joints_of(name)
        if name in need.off:
            if not joints:
                yield Problem(
                    f"part {name}",
                    "comes off, but no joint of this file holds it; if something does, name it",
                )
        elif joints and all(joint.id in whole and joint.layers[0] == name for joint in joints):
            yield Problem(
                f"part {name}",
                "every joint of it that the file names is opened; name what else holds it, "
                'support it, or set it to "remove-and-refit"',
            )


def doubts(repair: Repair, graph: Graph, need: Needs) -> tuple[Problem, ...]:
    """Everything about taking parts off that the file leaves open.

    Parameters
    ----------
    repair : Repair
        For lengths of joints.
    graph : Graph
        Parts and joints.
    need : Needs
        What comes off.

    Returns
    -------
    tuple of Problem
        References to parts that are not there, sections without stretches, parts held by nothing,
        and what is only assumed.
    """
    found = [
        *_unknown(graph),
        *_sections(graph),
        *_past_end(repair),
        *_held_by_nothing(graph, need),
        *to_confirm(repair.assumed, "part", "joint"),
    ]
    return tuple(dict.fromkeys(found))
