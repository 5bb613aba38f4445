"""Heatings that cannot be: each gets a sentence, and what is left is answered."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from panelwright.bond import answer
from panelwright.errors import InvalidFile

if TYPE_CHECKING:
    from tests.bond.conftest import Make


@pytest.mark.invariant
@pytest.mark.parametrize("distance", ["0 mm", "-5 mm"])
def test_a_lamp_that_stands_nowhere_leaves_the_joint_as_without_it(
    make: Make, distance: str
) -> None:
    bad = answer(make(lambda data: data["heating"][0].update(distance=distance), heated=True))
    said = [one.what for one in bad.problems if one.where == "heating[0].distance"]
    assert len(said) == 1
    assert "the joint is answered without this lamp" in said[0]
    plain = answer(make())
    assert bad.joints[0].handle_min == plain.joints[0].handle_min
    assert bad.joints[0].handle_min is not None


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"heating": {"stays": [{"from": "-10 min", "to": "20 min"}]}}, "below 0 min"),
        ({"lamp": {"power": "-5 W"}}, "below 0 W"),
        ({"lamp": {"size": ["0 mm", "0 mm"]}}, "not more than zero"),
        ({"joint": {"length": "0 mm"}}, "not more than zero"),
        ({"joint": {"layers": []}}, "at least 1"),
        ({"adhesive": {"limit": "-300 °C"}}, "below -273.15 °C"),
    ],
)
def test_what_no_heating_can_have_is_refused_by_key(
    make: Make, change: dict[str, dict[str, Any]], words: str
) -> None:
    ((table, values),) = change.items()
    with pytest.raises(InvalidFile, match=words) as refused:
        make(lambda data: data[table][0].update(values), heated=True)
    assert f"{table}[0].{next(iter(values))}" in str(refused.value)


@pytest.mark.invariant
@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("distance", ["10 mm", "30 mm", "80 mm"])
def test_a_lamp_that_burns_the_bond_gives_no_time(make: Make, distance: str) -> None:
    def nearer(data: dict[str, Any]) -> None:
        data["heating"][0].update(distance=distance)
        data["lamp"][0].update(power="6000 W", radiant=0.9)

    burnt = answer(make(nearer, heated=True))
    joint = burnt.joints[0]
    assert (joint.handle_min, joint.full_min, joint.curve, joint.clock.handle) == (
        None,
        None,
        (),
        None,
    )
    assert joint.hottest_C == 250.0
    assert joint.over_limit
    assert any("no bond lasts there" in one.what for one in burnt.problems)
