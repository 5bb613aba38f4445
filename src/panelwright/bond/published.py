"""The answer as the published JSON object."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.sources import Source, marks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.bond.answer import BondAnswer, JointBond
    from panelwright.bond.may_do import MayDo


def _plain(value: object) -> object:
    """Dataclasses as objects, tuples as lists, moments as ISO 8601 in UTC."""
    if isinstance(value, Source):
        return str(value)
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value


def _joint(bond: JointBond) -> object:
    table = _plain(bond)
    if isinstance(table, dict):
        table["marks"] = list(marks(bond.sources))
    return table


def as_json(answer: BondAnswer) -> dict[str, object]:
    """Exactly the keys of the repair file's page, and more.

    Parameters
    ----------
    answer : BondAnswer
        The room's answer.

    Returns
    -------
    dict
        `joints` by id, `advice`, `surface`, `problems`; times in minutes, moments in UTC.

    References
    ----------
    The repair file, section Out.
    """
    return {
        "joints": {bond.joint: _joint(bond) for bond in answer.joints},
        "surface": _plain(answer.surface),
        "advice": list(answer.advice),
        "problems": _plain(answer.problems),
    }


def may_json(found: Sequence[MayDo]) -> object:
    """What may be done now, as JSON.

    Parameters
    ----------
    found : sequence of MayDo
        As `panelwright.bond.may_do.may_do` gives them.

    Returns
    -------
    object
        A list; moments in UTC.

    References
    ----------
    Table ``may_do``.
    """
    return _plain(tuple(found))
