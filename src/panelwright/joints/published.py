"""The answer as it is published: exactly the keys of the repair file's page, and some more."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import Enum
from typing import TYPE_CHECKING

from panelwright.sources import Source

if TYPE_CHECKING:
    from panelwright.joints.answer import JointAnswer, JointsAnswer

_DIGITS = 6


def _plain(value: object) -> object:
    """Dataclasses, tuples and enums as what JSON has."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Source):
        return str(value)
    if isinstance(value, bool | int | str) or value is None:
        return value
    if isinstance(value, float):
        return round(value, _DIGITS)
    if is_dataclass(value):
        return {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} has no published form")


def _joint(joint: JointAnswer) -> dict[str, object]:
    published = {each.name: _plain(getattr(joint, each.name)) for each in fields(joint)}
    del published["id"]
    published["from"] = published.pop("from_")
    published["rivet_detail"] = published["rivet"]
    published["rivet"] = joint.rivet.id if joint.rivet else None
    return published


def as_json(answer: JointsAnswer) -> dict[str, object]:
    """The published view.

    Parameters
    ----------
    answer : JointsAnswer

    Returns
    -------
    dict
        ``joints`` by id with ``rivet`` (its key), ``count``, ``at_mm``, ``edge_mm``, ``pitch_mm``,
        ``adhesive_ml``, ``strength``, ``checks`` and ``from``, and what else the answer holds;
        ``others``, ``needs``, ``cautions``, ``problems``, ``disclaimer``.
    """
    return {
        "joints": {joint.id: _joint(joint) for joint in answer.joints},
        "others": _plain(answer.others),
        "needs": _plain(answer.needs),
        "cautions": _plain(answer.cautions),
        "problems": [{"where": each.where, "what": each.what} for each in answer.problems],
        "disclaimer": answer.disclaimer,
    }
