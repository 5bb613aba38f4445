"""The teardown answer as other programs read it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.sources import Source
    from panelwright.teardown.answer import Answer, Carried, Separation


def _sources(sources: tuple[Source, ...]) -> list[str]:
    return [str(source) for source in sources]


def _separation(joint: Separation) -> dict[str, object]:
    return {
        "joint": joint.joint,
        "kind": joint.kind,
        "stretches_mm": [[stretch.from_mm, stretch.to_mm] for stretch in joint.stretches],
        "frees": list(joint.frees),
        "stays": list(joint.stays),
        "how": list(joint.how),
        "cautions": list(joint.cautions),
        "sources": _sources(joint.sources),
    }


def _carried(care: Carried) -> dict[str, object]:
    return {
        "part": care.part,
        "what": care.what,
        "kind": care.kind,
        "make_safe": care.make_safe,
        "move": care.move,
        "afterwards": care.afterwards,
        "sources": _sources(care.sources),
    }


def as_json(answer: Answer) -> dict[str, object]:
    """Give the answer with the keys of the repair file's page and some more.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    dict
        `open`, `order`, `look`, and beside them `refit`, `removals`, `separations`, `carried`,
        `first`, `released`, `together`, `cycles`, `problems`, `sources`.
    """
    return {
        "open": list(answer.open),
        "order": list(answer.order),
        "look": [
            {**asdict(look), "hidden_by": list(look.hidden_by), "found": list(look.found)}
            for look in answer.look
        ],
        "refit": list(answer.refit),
        "removals": [
            {
                "part": removal.part,
                "name": removal.name,
                "action": removal.action.value,
                "opens": list(removal.opens),
                "why": list(removal.why),
                "cautions": list(removal.cautions),
            }
            for removal in answer.removals
        ],
        "separations": [_separation(joint) for joint in answer.separations],
        "carried": [_carried(care) for care in answer.carried],
        "first": list(answer.first),
        "released": [asdict(released) for released in answer.released],
        "together": list(answer.together),
        "cycles": list(answer.cycles),
        "problems": [{"where": problem.where, "what": problem.what} for problem in answer.problems],
        "sources": _sources(answer.sources),
    }
