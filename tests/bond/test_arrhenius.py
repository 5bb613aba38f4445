"""The law of time and temperature against published times and against refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.bond.arrhenius import cure_rate, fit_cure_law, fit_rows_alone
from panelwright.bond.posterior import COMMON_ENERGY_KJ
from panelwright.bond.rows import Milestone, RefusedSheet, SheetRow, odd_rows

WORK, HANDLE, FULL = Milestone


def rows(*typed: tuple[Milestone, float, float]) -> list[SheetRow]:
    return [SheetRow(event, at_C, minutes) for event, at_C, minutes in typed]


@pytest.mark.published
def test_energy_of_three_published_times() -> None:
    # Times to 95 % of a one-part epoxy, published by a maker of kinetics software [seen]; energy,
    # intercept and back-predictions worked out apart [computed].
    law = fit_rows_alone(rows((FULL, 150, 16.4), (FULL, 170, 9.2), (FULL, 200, 4.2)))
    assert law.energy_kJ_mol == pytest.approx(45.36, abs=0.005)
    predicted = [law.time_min(FULL, t) for t in (150.0, 170.0, 200.0)]
    assert predicted == pytest.approx([16.423, 9.178, 4.204], abs=6e-4)
    at_zero = math.log(law.time_min(FULL, 170.0)) - law.energy_kJ_mol * 1e3 / 8.314462618 / 443.15
    assert at_zero == pytest.approx(-10.0952, abs=2e-3)


@pytest.mark.published
@pytest.mark.parametrize(
    ("energy", "at_C", "rate"),
    [
        # Relative speed to 23 °C, worked out apart from R = 8.314462618 [computed].
        (45.3, 5.0, 0.304),
        (50.0, 60.0, 9.537),
        (51.2, 30.0, 1.616),
        (58.0, 40.0, 3.592),
        (58.0, 80.0, 44.79),
        (70.0, 80.0, 98.34),
    ],
)
def test_speed_relative_to_23(energy: float, at_C: float, rate: float) -> None:
    assert float(cure_rate(at_C, 23.0, energy)) == pytest.approx(rate, rel=5e-4, abs=5e-4)


@pytest.mark.exact
def test_rows_made_from_a_law_give_the_law_back() -> None:
    # Handling 136.43 and full 484.23 min at 23 °C, 9.97 and 35.39 min at 60 °C: 58 kJ/mol
    # [computed from a conversion model].
    law = fit_rows_alone(
        rows((HANDLE, 23, 136.43), (HANDLE, 60, 9.97), (FULL, 23, 484.23), (FULL, 60, 35.39))
    )
    assert law.energy_kJ_mol == pytest.approx(58.0, abs=0.01)
    assert law.time_min(FULL, 40.0) == pytest.approx(134.80, rel=1e-3)
    assert law.time_min(HANDLE, 15.0) == pytest.approx(262.37, rel=1e-3)


@pytest.mark.exact
def test_uncertainty_of_two_exact_rows_is_that_of_rounding() -> None:
    law = fit_rows_alone(rows((FULL, 23, 484.23), (FULL, 60, 35.39)))
    lever = 1 / 296.15 - 1 / 333.15
    assert law.energy_u_kJ_mol == pytest.approx(8.314462618e-3 * 0.05 * math.sqrt(2) / lever)


@pytest.mark.exact
def test_scatter_beyond_rounding_widens_the_law() -> None:
    exact = rows((HANDLE, 23, 136.43), (HANDLE, 60, 9.97), (FULL, 23, 484.23), (FULL, 60, 35.39))
    loose = rows((HANDLE, 23, 190), (HANDLE, 60, 9.97), (FULL, 23, 484.23), (FULL, 60, 48))
    assert fit_rows_alone(exact).residual_u == 0.05
    assert fit_rows_alone(loose).residual_u > 0.15


@pytest.mark.invariant
@given(
    energy=st.floats(40, 80),
    work=st.floats(5, 100),
    ratios=st.tuples(st.floats(1.2, 20), st.floats(1.2, 20)),
    at=st.lists(st.floats(5, 90), min_size=2, max_size=3, unique=True),
)
def test_lines_of_one_energy_never_cross(
    energy: float, work: float, ratios: tuple[float, float], at: list[float]
) -> None:
    if max(at) - min(at) < 2.0:
        return
    reference = {WORK: work, HANDLE: work * ratios[0], FULL: work * ratios[0] * ratios[1]}
    made = [
        SheetRow(event, t, minutes / float(cure_rate(t, 23.0, energy)))
        for event, minutes in reference.items()
        for t in at
    ]
    law = fit_rows_alone(made)
    assert law.energy_kJ_mol == pytest.approx(energy, rel=1e-5)
    for t in (-20.0, 23.0, 150.0):
        assert law.time_min(WORK, t) < law.time_min(HANDLE, t) < law.time_min(FULL, t)


def test_one_temperature_takes_the_common_energy_and_says_so() -> None:
    law = fit_cure_law(rows((WORK, 23, 60), (HANDLE, 23, 240), (FULL, 23, 1440)))
    assert law.assumed
    assert law.energy_kJ_mol == pytest.approx(COMMON_ENERGY_KJ, abs=1e-9)
    assert law.energy_u_kJ_mol == pytest.approx(7.0, abs=1e-9)
    assert law.time_min(HANDLE, 23.0) == pytest.approx(240.0)


def test_two_events_at_two_temperatures_do_not_give_an_energy() -> None:
    assert fit_cure_law(rows((WORK, 23, 60), (HANDLE, 60, 20))).assumed


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ([], r"no \[\[adhesive.time\]\] row"),
        ([(FULL, 23, 60), (FULL, 60, 90)], "full at 60 °C: 90 min.*takes as long"),
        ([(FULL, 23, 60), (FULL, 60, 60)], "full at 60 °C: 60 min.*takes as long"),
        ([(FULL, 23, 60), (FULL, 23, 90)], "two times for one temperature"),
        ([(FULL, 23, 1440), (FULL, 60, 1)], "full at 23 °C.*full at 60 °C.*35 to 90"),
        ([(FULL, 23, 1440), (FULL, 60, 1300)], "full at 23 °C.*full at 60 °C.*35 to 90"),
        ([(WORK, 23, 60), (HANDLE, 23, 45)], "handle at 23 °C.*no later than.*work at 23 °C"),
        ([(FULL, 500, 60)], "no adhesive cures at 500"),
        ([(FULL, -80, 60)], "no adhesive cures at -80"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_by_row(
    typed: list[tuple[Milestone, float, float]], words: str
) -> None:
    with pytest.raises(RefusedSheet, match=words):
        fit_cure_law(rows(*typed))


def test_rows_that_together_stand_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(RefusedSheet, match="put “handle” before “work”"):
        fit_cure_law(rows((WORK, 23, 300), (WORK, 40, 100), (HANDLE, 40.5, 90), (HANDLE, 60, 30)))


def test_a_pair_that_is_odd_alone_is_named() -> None:
    typed = rows((HANDLE, 23, 240), (HANDLE, 60, 40), (FULL, 23, 1440), (FULL, 60, 20.5))
    (sentence,) = odd_rows(typed)
    assert "full at 23 °C" in sentence
    assert "full at 60 °C" in sentence
