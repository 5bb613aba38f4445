"""Rotations and how they follow their vector."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from panelwright.fit.rotation import cross_matrix, rotation_matrix, turning_jacobian

TURNS = st.tuples(*[st.floats(-2.0, 2.0)] * 3)


@pytest.mark.exact
def test_a_quarter_turn_about_z_takes_x_to_y() -> None:
    R = rotation_matrix(np.array([0.0, 0.0, np.pi / 2]))
    np.testing.assert_allclose(R @ [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], atol=1e-15)


@pytest.mark.exact
def test_a_cross_matrix_crosses() -> None:
    np.testing.assert_allclose(cross_matrix(np.array([1.0, 0, 0])) @ [0, 1.0, 0], [0, 0, 1.0])


@pytest.mark.second_route
@given(turn=TURNS)
def test_a_rotation_agrees_with_scipys(turn: tuple[float, float, float]) -> None:
    vector = np.array(turn)
    expected = Rotation.from_rotvec(vector).as_matrix()
    np.testing.assert_allclose(rotation_matrix(vector), expected, atol=1e-14)


@pytest.mark.second_route
@pytest.mark.parametrize("size", [0.0, 1e-9, 5e-5, 2e-4, 0.03, 1.0, 3.0])
def test_its_derivative_agrees_with_central_differences(size: float) -> None:
    turn = size * np.array([0.48, -0.6, 0.64])
    v, h = np.array([120.0, -40.0, 300.0]), 1e-5
    analytic = -cross_matrix(rotation_matrix(turn) @ v) @ turning_jacobian(turn)
    numerical = np.stack(
        [
            (rotation_matrix(turn + h * e) @ v - rotation_matrix(turn - h * e) @ v) / (2 * h)
            for e in np.eye(3)
        ],
        axis=1,
    )
    np.testing.assert_allclose(analytic, numerical, atol=2e-7 * 330)
