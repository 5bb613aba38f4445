"""The step library holds together."""

from __future__ import annotations

import pytest

from panelwright.plan.course import _CONDITIONS, _THINGS
from panelwright.plan.library import Scope, cautions, library, settings
from panelwright.plan.measure import _MEASURES, SAID
from panelwright.sources import Basis

ROWS = {row.id: row for row in library()}


@pytest.mark.invariant
def test_every_stage_of_a_repair_has_its_steps() -> None:
    assert {row.stage for row in library()} == set(range(1, 13))
    assert len(ROWS) == len(library())


@pytest.mark.invariant
@pytest.mark.parametrize("name", ROWS)
def test_a_step_refers_only_to_what_is_there(name: str) -> None:
    row = ROWS[name]
    assert all(before.removeprefix("*") in ROWS for before in row.after)
    assert set(row.cautions) <= set(cautions())
    assert all(measure in _MEASURES and measure in SAID for measure, _ in row.rates)
    assert row.applies in _CONDITIONS
    assert row.scope in _THINGS
    assert (row.people == 0) == (row.who.value == "nobody")
    assert ("{thing}" in row.name) == (row.scope is not Scope.REPAIR)
    assert row.source.basis is Basis.PRACTICE


@pytest.mark.invariant
def test_no_step_waits_for_a_later_stage() -> None:
    for row in library():
        for before in row.after:
            assert ROWS[before.removeprefix("*")].stage <= row.stage, (row.id, before)


@pytest.mark.invariant
def test_dangerous_steps_carry_their_cautions() -> None:
    wanted = {
        "isolate": "high-voltage",
        "re-energise": "high-voltage",
        "restraints-safe": "restraint",
        "separate": "aluminium-dust",
        "drill": "aluminium-dust",
        "prepare": "solvents",
        "bead": "adhesive",
        "lamp": "lamp",
        "lift-off": "lifting",
        "cure": "clamped",
        "rivet": "eyes",
    }
    for step, caution in wanted.items():
        assert caution in ROWS[step].cautions, step
    assert all(caution.words.endswith(".") for caution in cautions().values())


@pytest.mark.invariant
def test_settings_are_there() -> None:
    assert settings()["spare_fraction"] == 0.1
