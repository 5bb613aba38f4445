"""The room's answer: times, bands, refusals in words, and what never may happen."""

from __future__ import annotations

import itertools
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from panelwright.bond import answer
from panelwright.bond.answer import BondAnswer, JointBond
from panelwright.bond.published import as_json
from panelwright.errors import Unanswerable
from panelwright.sources import marks

from .conftest import Make

SLOW = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def only(make: Make, *changes: Any, heated: bool = False) -> JointBond:
    (bond,) = answer(make(*changes, heated=heated)).joints
    return bond


def air(celsius: float) -> Any:
    return lambda data: data["conditions"].update(air=f"{celsius:.3f} °C", humidity=20)


def stays(end: float) -> Any:
    return lambda data: data["heating"][0].update(stays=[{"from": "0 min", "to": f"{end:.2f} min"}])


def whats(result: BondAnswer) -> str:
    return " ".join(problem.what for problem in result.problems)


@pytest.mark.exact
def test_at_the_sheet_s_temperature_the_sheet_s_times(make: Make) -> None:
    bond = only(make, air(23.0))
    assert bond.handle_min is not None
    assert bond.full_min is not None
    assert bond.handle_min.likely == pytest.approx(240.0, rel=0.05)
    assert bond.full_min.likely == pytest.approx(1440.0, rel=0.05)
    assert bond.work_until_min is not None
    assert 40.0 < bond.work_until_min < 60.0


@pytest.mark.exact
def test_a_steady_room_is_the_law_itself(make: Make) -> None:
    bond = only(make, air(15.0))
    assert bond.law is not None
    assert bond.handle_min is not None
    rate = 2.718281828 ** (-bond.law.energy_kJ_mol / 8.314462618e-3 * (1 / 288.15 - 1 / 296.15))
    at_23 = only(make, air(23.0)).handle_min
    assert at_23 is not None
    assert bond.handle_min.likely == pytest.approx(at_23.likely / rate, rel=0.02)


@pytest.mark.invariant
@SLOW
@given(celsius=st.floats(8, 38), warmer=st.floats(0.1, 10))
def test_hotter_is_never_slower(make: Make, celsius: float, warmer: float) -> None:
    cold, warm = only(make, air(celsius)), only(make, air(celsius + warmer))
    for name in ("handle_min", "full_min"):
        slow, fast = getattr(cold, name), getattr(warm, name)
        for level in ("early", "likely", "late"):
            assert getattr(fast, level) <= getattr(slow, level) * (1 + 1e-9)
    assert warm.work_until_min is not None
    assert cold.work_until_min is not None
    assert warm.work_until_min <= cold.work_until_min


@pytest.mark.invariant
@SLOW
@given(celsius=st.floats(8, 38), end=st.floats(1, 120), distance=st.floats(250, 1500))
def test_a_lamp_never_lengthens_the_wait(
    make: Make, celsius: float, end: float, distance: float
) -> None:
    def away(data: dict[str, Any]) -> None:
        data["heating"][0]["distance"] = f"{distance:.1f} mm"

    bare = only(make, air(celsius))
    heated = only(make, air(celsius), stays(end), away, heated=True)
    for name in ("handle_min", "full_min"):
        without, with_lamp = getattr(bare, name), getattr(heated, name)
        for level in ("early", "likely", "late"):
            assert getattr(with_lamp, level) <= getattr(without, level) * (1 + 1e-9)


@pytest.mark.invariant
@SLOW
@given(celsius=st.floats(5, 40), end=st.floats(1, 120))
def test_early_likely_late_and_work_handle_full(make: Make, celsius: float, end: float) -> None:
    bare, heated = only(make, air(celsius)), only(make, air(celsius), stays(end), heated=True)
    for bond in (bare, heated):
        assert bond.handle_min is not None
        assert bond.full_min is not None
        for band in (bond.handle_min, bond.full_min):
            assert 0.0 < band.early <= band.likely <= band.late
        for level in ("early", "likely", "late"):
            assert getattr(bond.handle_min, level) <= getattr(bond.full_min, level)
    assert bare.work_until_min is not None
    assert bare.handle_min is not None
    assert bare.work_until_min <= bare.handle_min.early


@pytest.mark.invariant
@SLOW
@given(end=st.floats(0.5, 400))
def test_the_curve_rises_and_is_short(make: Make, end: float) -> None:
    bond = only(make, stays(end), heated=True)
    assert 2 <= len(bond.curve) <= 200
    minutes = [row.minute for row in bond.curve]
    assert minutes == sorted(set(minutes))
    strengths = [row.strength_MPa for row in bond.curve]
    assert all(b >= a for a, b in itertools.pairwise(strengths))  # type: ignore[operator]
    assert strengths[-1] == 20.0
    for row in bond.curve:
        assert row.coldest_C <= row.hottest_C + 1e-9
        assert row.coldest_C_10 <= row.coldest_C <= row.coldest_C_90
        assert row.hottest_C_10 <= row.hottest_C <= row.hottest_C_90


@pytest.mark.exact
def test_coldest_spot_is_the_end_farthest_from_the_lamp(make: Make) -> None:
    def near_the_end(data: dict[str, Any]) -> None:
        data["heating"][0]["centre"] = ["500 mm", "0 mm"]

    assert only(make, near_the_end, heated=True).coldest_mm == 0.0

    def near_the_start(data: dict[str, Any]) -> None:
        data["heating"][0]["centre"] = ["100 mm", "0 mm"]

    assert only(make, near_the_start, heated=True).coldest_mm == 600.0


def test_a_lamp_too_near_passes_the_limit(make: Make) -> None:
    def near(data: dict[str, Any]) -> None:
        data["heating"][0]["distance"] = "200 mm"

    result = answer(make(near, heated=True))
    (bond,) = result.joints
    assert bond.over_limit
    assert bond.p_over_limit is not None
    assert bond.p_over_limit > 0.5
    assert any("move the lamp back" in sentence for sentence in result.advice)
    assert not only(make, heated=True).over_limit


def test_bare_metal_heats_less_than_primer(make: Make) -> None:
    def bare(data: dict[str, Any]) -> None:
        data["heating"][0]["surface"] = "bare"

    primed, naked = only(make, heated=True), only(make, bare, heated=True)
    assert primed.hottest_C is not None
    assert naked.hottest_C is not None
    assert naked.hottest_C < primed.hottest_C - 10.0


def test_a_lamp_that_was_on_shortens_the_work_time(make: Make) -> None:
    def on(data: dict[str, Any]) -> None:
        moments = (("bead-begun", "13:00"), ("closed", "13:10"), ("lamp-on", "13:12"))
        data["event"] = [
            {"joint": "arch", "kind": kind, "at": f"2026-11-20T{at}:00+01:00"}
            for kind, at in moments
        ]

    planned, switched = only(make, heated=True), only(make, on, heated=True)
    assert planned.work_until_min is not None
    assert switched.work_until_min is not None
    assert switched.work_until_min < planned.work_until_min
    assert [stay.recorded for stay in switched.stays] == [True]


def break_sheet(data: dict[str, Any]) -> None:
    data["joint"].append(
        {"id": "sill", "layers": ["outer"], "length": "500 mm", "remake": {"adhesive": "odd"}}
    )
    data["adhesive"].append(
        {
            "id": "odd",
            "time": [
                {"event": "full", "at": "23 °C", "time": "60 min"},
                {"event": "full", "at": "60 °C", "time": "90 min"},
            ],
        }
    )


def empty_sheet(data: dict[str, Any]) -> None:
    break_sheet(data)
    data["adhesive"][1]["time"] = []


@pytest.mark.parametrize(
    ("change", "words"),
    [(break_sheet, "full at 60 °C: 90 min"), (empty_sheet, "no [[adhesive.time]] row")],
)
def test_a_joint_that_cannot_be_answered_leaves_the_other(
    make: Make, change: Any, words: str
) -> None:
    result = answer(make(change))
    arch, sill = result.joints
    assert arch.handle_min is not None
    assert (sill.handle_min, sill.full_min, sill.work_until_min) == (None, None, None)
    assert words in whats(result)


def test_no_adhesive_at_all_cannot_be_answered(make: Make) -> None:
    with pytest.raises(Unanswerable, match="no adhesive for this joint"):
        answer(make(lambda data: data.update(adhesive=[])))


def test_no_bonded_joint_cannot_be_answered(make: Make) -> None:
    with pytest.raises(Unanswerable, match="no bonded joint"):
        answer(make(lambda data: data["joint"][0].update(kind="bolt")))


def test_a_lamp_at_nothing_is_left_out(make: Make) -> None:
    result = answer(make(lambda data: data["heating"][0].update(distance="0 mm"), heated=True))
    assert "more than 0 mm away" in whats(result)
    assert result.joints[0].handle_min == only(make).handle_min


def test_lamp_time_that_is_none_is_left_out(make: Make) -> None:
    backwards = [{"from": "40 min", "to": "10 min"}]
    result = answer(make(lambda data: data["heating"][0].update(stays=backwards), heated=True))
    assert "no stretch of time" in whats(result)
    assert "counts as off" in whats(result)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data["conditions"].pop("air"), "20 °C is assumed"),
        (lambda data: data["conditions"].update(air="-80 °C"), "no workshop"),
    ],
)
def test_air_that_is_not_known_widens_the_band(make: Make, change: Any, words: str) -> None:
    result = answer(make(change))
    assert words in whats(result)
    known, unknown = only(make).handle_min, result.joints[0].handle_min
    assert known is not None
    assert unknown is not None
    assert unknown.late - unknown.early > known.late - known.early


def test_a_cartridge_past_its_date_is_said(make: Make) -> None:
    from datetime import date  # noqa: PLC0415

    def old(data: dict[str, Any]) -> None:
        data["adhesive"][0]["use_by"] = date(2026, 11, 19)
        data["event"] = [{"joint": "arch", "kind": "bead-begun", "at": "2026-11-20T00:30:00+01:00"}]

    assert "past its use-by 2026-11-19" in whats(answer(make(old)))

    def last_day(data: dict[str, Any]) -> None:
        old(data)
        data["adhesive"][0]["use_by"] = date(2026, 11, 20)

    assert "use-by" not in whats(answer(make(last_day)))


def test_one_temperature_on_the_sheet_gives_a_wide_band_and_says_so(make: Make) -> None:
    def cold_only(data: dict[str, Any]) -> None:
        times = data["adhesive"][0]["time"]
        data["adhesive"][0]["time"] = [row for row in times if row["at"] == "23 °C"]

    wide, known = only(make, cold_only, air(10.0)), only(make, air(10.0))
    assert wide.law is not None
    assert wide.law.assumed
    assert any("one temperature only" in note for note in wide.notes)
    assert wide.full_min is not None
    assert known.full_min is not None
    assert wide.full_min.late / wide.full_min.early > known.full_min.late / known.full_min.early


def test_outside_the_sheet_is_said(make: Make) -> None:
    assert any("below the sheet's lowest" in note for note in only(make, air(15.0)).notes)
    assert any("hardly cures" in note for note in only(make, air(8.0)).notes)
    assert not any("extrapolation" in note for note in only(make, air(23.0)).notes)


@pytest.mark.invariant
def test_asked_twice_it_answers_alike(make: Make) -> None:
    assert answer(make(heated=True)) == answer(make(heated=True))


def test_published_keys(make: Make) -> None:
    content = as_json(answer(make(heated=True)))
    text = json.dumps(content, allow_nan=False)
    joint = json.loads(text)["joints"]["arch"]
    assert {"early", "likely", "late"} == set(joint["handle_min"]) == set(joint["full_min"])
    assert set(joint) >= {
        "work_until_min",
        "coldest_mm",
        "hottest_C",
        "hottest_at_min",
        "over_limit",
        "curve",
    }
    assert set(joint["curve"][0]) >= {"minute", "coldest_C", "hottest_C", "strength_MPa"}
    assert isinstance(joint["over_limit"], bool)
    assert json.loads(text)["advice"]


def test_a_panel_temperature_that_cannot_be_is_not_used(make: Make) -> None:
    result = answer(make(lambda data: data["conditions"].update(panel="-200 °C")))
    assert "no panel to bond" in whats(result)
    assert result.joints[0].handle_min == only(make).handle_min


def test_a_warm_panel_shortens_the_work_time(make: Make) -> None:
    warm = only(make, lambda data: data["conditions"].update(panel="35 °C"))
    cool = only(make)
    assert warm.work_until_min is not None
    assert cool.work_until_min is not None
    assert warm.work_until_min < 0.6 * cool.work_until_min


def test_a_lamp_forgotten_for_a_year_is_still_answered(make: Make) -> None:
    def forgotten(data: dict[str, Any]) -> None:
        moments = (("closed", "2026-11-20"), ("lamp-on", "2026-11-20"), ("lamp-off", "2027-11-20"))
        data["event"] = [
            {"joint": "arch", "kind": kind, "at": f"{day}T13:10:00+01:00"} for kind, day in moments
        ]

    bond = only(make, forgotten, heated=True)
    assert bond.full_min is not None
    assert len(bond.curve) <= 200


def test_a_moment_without_joint_is_said(make: Make) -> None:
    def loose(data: dict[str, Any]) -> None:
        data["event"] = [{"kind": "closed", "at": "2026-11-20T13:10:00+01:00"}]

    assert "'closed' names no joint" in whats(answer(make(loose)))


def test_an_adhesive_that_the_procedure_does_not_name_is_a_proposal(make: Make) -> None:
    named = make(lambda data: data["joint"][0].update(remake={"adhesive": "glue"}))
    assert "proposal" in marks(answer(make()).joints[0].sources)
    assert "proposal" not in marks(answer(named).joints[0].sources)


def test_a_structural_joint_without_a_named_adhesive_gets_no_times(make: Make) -> None:
    with pytest.raises(Unanswerable, match="ask the maker"):
        answer(make(lambda data: data["part"][1].update(structural=True)))


def test_an_adhesive_that_is_not_there_leaves_the_other_joint(make: Make) -> None:
    def second(data: dict[str, Any]) -> None:
        data["joint"].append({**data["joint"][0], "id": "seam", "remake": {"adhesive": "other"}})

    result = answer(make(second))
    times = {bond.joint: bond.handle_min for bond in result.joints}
    assert times["arch"] is not None
    assert times["seam"] is None
    assert "'other' is not in the file" in whats(result)


def test_a_zone_that_is_none_is_said(make: Make) -> None:
    result = answer(make(lambda data: data["shop"].update(zone="Mars/Base")))
    assert "'Mars/Base' is no time zone" in whats(result)
