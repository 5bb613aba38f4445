"""A repair that is sent to another process."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path

import pytest

from panelwright.facts.file import read


@pytest.mark.invariant
def test_what_was_looked_up_meanwhile_is_not_sent_along(examples: Path) -> None:
    repair = read((examples / "heron.toml").read_text("utf-8"))
    assert repair.part_by_id
    assert repair.joint_by_id
    sent = pickle.loads(pickle.dumps(repair))  # noqa: S301 - written a moment ago
    assert sent == repair
    assert "part_by_id" in vars(repair)
    assert "part_by_id" not in vars(sent)
    assert dict(sent.part_by_id) == dict(repair.part_by_id)
    assert copy.copy(repair) == repair
