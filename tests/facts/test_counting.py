"""Holes and rivets are counted by events of their own, which no room asks for."""

from __future__ import annotations

import pytest

from panelwright.errors import InvalidFile
from panelwright.facts.check import check
from panelwright.facts.file import document_from
from panelwright.facts.models.bonding import COUNTING
from panelwright.facts.repair import Repair, repair_of

JOINTED = {
    "format": 1,
    "part": [{"id": "outer"}, {"id": "side"}],
    "joint": [{"id": "seam", "layers": ["outer", "side"]}],
}


def with_event(**event: object) -> dict[str, object]:
    return {**JOINTED, "event": [event]}


def repair_from(data: dict[str, object]) -> Repair:
    document = document_from(data)
    return repair_of(document, tuple(check(document)))


@pytest.mark.parametrize("kind", sorted(COUNTING))
def test_a_count_stands_apart_from_the_events_that_clocks_and_plans_read(kind: str) -> None:
    repair = repair_from(with_event(kind=kind, joint="seam", count=3))
    assert repair.events == ()
    assert [(event.kind, event.count) for event in repair.counts] == [(kind, 3)]


def test_too_many_counted_is_taken_back_by_a_count_below_zero() -> None:
    document = document_from(with_event(kind="drilled", joint="seam", count=-1))
    assert document.event[0].count == -1


@pytest.mark.parametrize("missing", ["joint", "count"])
def test_a_count_without_joint_or_number_is_told(missing: str) -> None:
    event: dict[str, object] = {"kind": "set", "joint": "seam", "count": 1}
    del event[missing]
    found = [problem.what for problem in repair_from(with_event(**event)).problems]
    assert '"set" needs joint and count' in found


def test_a_count_that_nobody_can_mean_is_refused() -> None:
    with pytest.raises(InvalidFile, match="less than or equal to 500"):
        document_from(with_event(kind="drilled", joint="seam", count=501))
