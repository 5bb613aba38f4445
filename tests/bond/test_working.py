"""Work time at other temperatures, a mix in its nozzle, half strength."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from tests.bond.conftest import Make

from panelwright import bond
from panelwright.bond import nozzle
from panelwright.bond.arrhenius import cure_rate
from panelwright.bond.nozzle import nozzle_minutes
from panelwright.bond.strength import age_at_strength, strength_at_age
from panelwright.tables import load


@pytest.mark.second_route
def test_at_the_bay_s_own_temperature_it_is_the_joint_s_work_time(make: Make) -> None:
    (joint,) = bond.answer(make()).joints
    early = {at.celsius: at.early_min for at in joint.work_at}
    assert joint.work_C == 20.0
    assert early[20.0] == pytest.approx(joint.work_until_min, rel=1e-12)
    assert list(early.values()) == sorted(early.values(), reverse=True)


def test_a_panel_warmer_than_the_air_counts(make: Make) -> None:
    warm = make(lambda data: data["conditions"].update({"panel": "30 °C"}))
    (joint,) = bond.answer(warm).joints
    assert joint.work_C == 30.0
    assert joint.work_until_min is not None
    early = {at.celsius: at.early_min for at in joint.work_at}
    # read, not guessed: its own band is a little narrower than that of air at 30 °C
    assert early[30.0] <= joint.work_until_min <= early[28.0]


def test_without_a_work_time_on_the_sheet_there_is_none(make: Make) -> None:
    def without(data: dict[str, list[dict[str, list[dict[str, str]]]]]) -> None:
        rows = data["adhesive"][0]["time"]
        data["adhesive"][0]["time"] = [row for row in rows if row["event"] != "work"]

    (joint,) = bond.answer(make(without)).joints
    assert (joint.work_C, joint.work_at, joint.nozzle_min) == (None, (), None)


def of_nozzle() -> tuple[float, float, float, float]:
    """ρc, ρH, 4h/d and the conversion, SI."""
    table = load("nozzle")
    density = table.number(0, "density")
    return (
        density * table.number(0, "specific_heat"),
        density * 1000.0 * table.number(0, "heat"),
        4.0 * table.number(0, "film") / (table.number(0, "diameter") / 1000.0),
        table.number(0, "conversion"),
    )


@pytest.mark.second_route
@pytest.mark.parametrize(("work", "air"), [(20.0, 30.0), (52.0, 20.0), (105.0, 19.0), (400.0, 8.0)])
def test_a_mix_in_its_nozzle_against_a_stiff_solver(work: float, air: float) -> None:
    capacity, heat, loss, whole = of_nozzle()

    def change(_: float, state: np.ndarray) -> list[float]:
        rate = whole / (60.0 * work) * float(cure_rate(air + state[1], air, 58.0))
        return [rate, (heat * rate - loss * state[1]) / capacity]

    def gelled(_: float, state: np.ndarray) -> float:
        return float(state[0] - whole)

    gelled.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        change, (0.0, 60.0 * work), [0.0, 0.0], "Radau", events=gelled, rtol=1e-9, atol=1e-10
    )
    expected = found.t_events[0][0] / 60.0
    got = nozzle_minutes(work_min=work, air_C=air, energy_kJ_mol=58.0)
    assert got == pytest.approx(expected, rel=1e-3)
    assert got < work


@pytest.mark.exact
def test_a_mix_that_loses_no_heat_is_a_quadrature(monkeypatch: pytest.MonkeyPatch) -> None:
    """t = (t_w/α_w) ∫ dα / k(T_air + Hα/c): no heat lost, so temperature follows conversion."""
    capacity, heat, _, whole = of_nozzle()
    warming = heat / capacity
    area = quad(lambda a: 1.0 / float(cure_rate(20.0 + warming * a, 20.0, 58.0)), 0.0, whole)[0]

    class Tight:
        def number(self, _: int, column: str) -> float:
            return 0.0 if column == "film" else load("nozzle").number(0, column)

    monkeypatch.setattr(nozzle, "load", lambda _: Tight())
    got = nozzle_minutes.__wrapped__(work_min=60.0, air_C=20.0, energy_kJ_mol=58.0)
    assert got == pytest.approx(60.0 * area / whole, rel=1e-3)


@pytest.mark.exact
def test_a_thin_nozzle_is_nearly_as_slow_as_a_bead(monkeypatch: pytest.MonkeyPatch) -> None:
    class Thin:
        def number(self, _: int, column: str) -> float:
            return 2.0e-1 if column == "diameter" else load("nozzle").number(0, column)

    monkeypatch.setattr(nozzle, "load", lambda _: Thin())
    got = nozzle_minutes.__wrapped__(work_min=60.0, air_C=20.0, energy_kJ_mol=58.0)
    assert got == pytest.approx(60.0, rel=3e-2)


@pytest.mark.invariant
@pytest.mark.parametrize("share", [0.06, 0.25, 0.5, 0.9, 0.999])
def test_the_age_at_a_strength_is_the_strength_s_own_inverse(share: float) -> None:
    handle, full = np.array([200.0, 240.0]), np.array([1200.0, 1440.0])
    told = {"handle_min": handle, "full_min": full, "handle_MPa": 1.0, "full_MPa": 20.0}
    age = age_at_strength(share, **told)  # type: ignore[arg-type]
    assert strength_at_age(age, **told) == pytest.approx(share * 20.0, rel=1e-9)  # type: ignore[arg-type]


@pytest.mark.second_route
def test_half_strength_stands_where_the_curve_s_lower_bound_crosses_it(make: Make) -> None:
    (joint,) = bond.answer(make()).joints
    assert joint.half_min is not None
    minutes = [row.minute for row in joint.curve]
    low = [row.strength_MPa_10 or 0.0 for row in joint.curve]
    crossed = float(np.interp(10.0, low, minutes))  # half of 20 MPa
    assert joint.half_min.late == pytest.approx(crossed, rel=0.01)
    assert joint.handle_min is not None
    assert joint.full_min is not None
    assert joint.handle_min.late < joint.half_min.late < joint.full_min.late


def test_no_strength_no_half(make: Make) -> None:
    (joint,) = bond.answer(make(lambda data: data["adhesive"][0].pop("lap_shear"))).joints
    assert joint.half_min is None
