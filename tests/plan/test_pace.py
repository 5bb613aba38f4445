"""How fast a shop works, from its own logs."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from panelwright.facts.repair import Repair
from panelwright.plan.pace import Run, common, paces, runs_of

Build = Callable[..., Repair]


def said(kind: str, clock: str, **more: str | int) -> str:
    words = {"joint": "edge", **more}
    told = "".join(f"{k} = {v!r}\n".replace("'", '"') for k, v in words.items())
    return f'[[event]]\nkind = "{kind}"\nat = 2026-11-23T{clock}:00+01:00\n{told}'


@pytest.mark.exact
def test_rivets_count_from_panel_on_to_rivets_set(panel: Build) -> None:
    """10 rivets, 0.6 m: 13.2 min less 2 min and 0.6 × 2 min of squeeze-out leave 1 min a rivet."""
    repair = panel(said("closed", "08:00") + said("rivets-set", "08:13").replace("13:00", "13:12"))
    (run,) = runs_of(repair)
    assert (run.measure, run.amount) == ("rivet", 10)
    assert run.minutes == pytest.approx(10.0)
    pace = paces([run]).rivet
    assert (pace.runs, pace.amount) == (1, 10)
    assert pace.each_min == pytest.approx(1.0)
    assert pace.words == "from this shop's own logs: 1 time, 10 rivets"


@pytest.mark.exact
def test_the_signature_of_the_step_tells_the_same(panel: Build) -> None:
    signed = '[[event]]\nkind = "done"\nstep = "rivet-skin"\nat = 2026-11-23T08:13:12+01:00\n'
    (run,) = runs_of(panel(said("closed", "08:00") + signed))
    assert run.minutes == pytest.approx(10.0)


@pytest.mark.exact
def test_counts_while_they_are_set_are_a_pace_of_their_own(panel: Build) -> None:
    """3 more after 2 min, 4 more after 2 min; then a pause of half an hour, which is no pace."""
    taps = [("08:00", 1), ("08:02", 3), ("08:04", 4), ("08:34", 2)]
    (run,) = runs_of(panel("".join(said("set", clock, count=n) for clock, n in taps)))
    assert run == Run("rivet", 7, 4.0)


@pytest.mark.exact
def test_beads_count_from_adhesive_started_to_panel_on(panel: Build) -> None:
    """0.6 m: 10 min less 3 min of preparing the cartridge and 4 min of closing: 5 min a metre."""
    (run,) = runs_of(panel(said("bead-begun", "08:00") + said("closed", "08:10")))
    assert (run.measure, run.amount, run.minutes) == ("metre", 0.6, pytest.approx(3.0))


@pytest.mark.parametrize("last", ["08:01", "12:30"])
def test_what_was_tapped_at_once_or_hours_later_is_no_pace(panel: Build, last: str) -> None:
    assert runs_of(panel(said("closed", "08:00") + said("rivets-set", last))) == ()


def test_few_rivets_are_not_believed(panel: Build) -> None:
    few = paces([Run("rivet", 9, 9.0)])
    assert few == common()
    assert few.rivet.words == "common practice, no source"
    assert "no source" in str(few.rivet.source)


@pytest.mark.exact
def test_all_minutes_by_all_rivets_of_all_logs() -> None:
    found = paces([Run("rivet", 30, 15.0), Run("rivet", 10, 10.0), Run("metre", 2.0, 8.0)])
    assert found.rivet.each_min == pytest.approx(25.0 / 40.0)
    assert found.rivet.words == "from this shop's own logs: 2 times, 40 rivets"
    assert found.metre.each_min == pytest.approx(4.0)
    assert "measured" in str(found.metre.source)
