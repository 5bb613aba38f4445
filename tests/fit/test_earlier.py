"""Earlier dry fits: what they show, beside what they showed while they were the latest."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from panelwright.facts.file import read
from panelwright.fit import answer


def test_an_earlier_dry_fit_still_stands_beside_the_latest(examples: Path) -> None:
    # The example's comments give the misplacement that the first dry fit was read from.
    moved = answer(read((examples / "heron-moved.toml").read_text("utf-8")))
    (earlier,), (latest,) = moved.earlier, moved.parts
    assert (earlier.id, earlier.setting, latest.setting) == ("outer", 1, 2)
    truth = np.array([1.8, -1.5, 2.2])
    u = np.array([u for u in earlier.shift_u_mm if u is not None])
    assert np.all(np.abs(np.array(earlier.shift_mm) - truth) < 3 * u)
    assert earlier.verdict.value == "outside"
    assert latest.verdict.value == "inside"


def test_it_is_what_the_first_readings_said_but_for_the_body_read_since(examples: Path) -> None:
    # Second route: the file before the move, with its own readings of the body alone.
    before = answer(read((examples / "heron.toml").read_text("utf-8"))).parts[0]
    earlier = answer(read((examples / "heron-moved.toml").read_text("utf-8"))).earlier[0]
    assert {p.id: p.verdict for p in earlier.points} == {p.id: p.verdict for p in before.points}
    np.testing.assert_allclose(earlier.shift_mm, before.shift_mm, atol=0.05)


def test_one_dry_fit_has_none_before_it(examples: Path) -> None:
    assert answer(read((examples / "heron.toml").read_text("utf-8"))).earlier == ()
