"""Strength against age: through the sheet's points, rising, never above full."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.bond.strength import FULL_FRACTION, strength_at_age


@pytest.mark.invariant
@given(
    handle=st.floats(1, 1000),
    ratio=st.floats(1.05, 50),
    handle_MPa=st.floats(0.05, 8),
    full_MPa=st.floats(10, 40),
)
def test_rising_through_both_points(
    handle: float, ratio: float, handle_MPa: float, full_MPa: float
) -> None:
    full = handle * ratio
    ages = np.sort(np.concatenate([np.linspace(0.0, 3.0 * full, 200), [handle, full]]))
    found = strength_at_age(
        ages,
        handle_min=np.array(handle),
        full_min=np.array(full),
        handle_MPa=handle_MPa,
        full_MPa=full_MPa,
    )
    assert np.all(np.diff(found) >= -1e-12)
    assert found[0] == 0.0
    assert found[np.searchsorted(ages, handle)] == pytest.approx(handle_MPa, rel=1e-6)
    assert np.all(found[ages >= full] == full_MPa)


@pytest.mark.exact
def test_the_curve_meets_full_without_a_jump() -> None:
    just_before = strength_at_age(
        np.array([1440.0 * (1 - 1e-9)]),
        handle_min=np.array(240.0),
        full_min=np.array(1440.0),
        handle_MPa=1.0,
        full_MPa=20.0,
    )
    assert just_before[0] == pytest.approx(20.0, abs=1e-6)


@pytest.mark.exact
def test_between_them_it_is_the_exponential_of_maturity() -> None:
    # ln ln(S_u/S) is linear in ln t (Freiesleben Hansen and Pedersen 1977 [memory]).
    ages = np.array([240.0, 480.0, 960.0])
    found = strength_at_age(
        ages,
        handle_min=np.array(240.0),
        full_min=np.array(1440.0),
        handle_MPa=1.0,
        full_MPa=20.0,
    )
    straight = np.log(np.log(20.0 / FULL_FRACTION / found))
    assert straight[0] - straight[1] == pytest.approx(straight[1] - straight[2], rel=1e-9)


@pytest.mark.exact
def test_half_way_by_hand() -> None:
    # S_u = 21.0526, a = ln(3.04701/0.0512933)/ln 6 = 2.27952; at twice the handling age
    # S = 21.0526 exp(−3.04701 · 0.5^2.27952) = 11.239 MPa [computed by hand].
    (found,) = strength_at_age(
        np.array([480.0]),
        handle_min=np.array(240.0),
        full_min=np.array(1440.0),
        handle_MPa=1.0,
        full_MPa=20.0,
    )
    assert found == pytest.approx(11.239, abs=1e-3)
