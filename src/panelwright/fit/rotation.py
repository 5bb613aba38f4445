"""Rotations by rotation vector: right-hand rule, angle in radians along the axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SMALL_ANGLE = 1e-4
"""Below it the series is exact to rounding: the next terms are of order angle⁴ ≈ 1e-16."""


def cross_matrix(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """Matrices K with K u = v × u.

    Parameters
    ----------
    vectors : array, shape (..., 3)
        The vectors v, any unit.

    Returns
    -------
    array, shape (..., 3, 3)
        In the unit of v.
    """
    matrices = np.zeros((*vectors.shape, 3))
    matrices[..., 0, 1] = -vectors[..., 2]
    matrices[..., 0, 2] = vectors[..., 1]
    matrices[..., 1, 0] = vectors[..., 2]
    matrices[..., 1, 2] = -vectors[..., 0]
    matrices[..., 2, 0] = -vectors[..., 1]
    matrices[..., 2, 1] = vectors[..., 0]
    return matrices


def rotation_matrix(turn: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rotation matrix of a rotation vector (Rodrigues' formula).

    R = I + (sin a / a) K + ((1 − cos a) / a²) K², with a = |turn| and K = [turn]×.

    Parameters
    ----------
    turn : array, shape (3,)
        Rotation vector, any size [rad].

    Returns
    -------
    array, shape (3, 3)
        R, so that R v is v turned [1].

    References
    ----------
    R. M. Murray, Z. Li, S. S. Sastry, A Mathematical Introduction to Robotic Manipulation, 1994,
    equation 2.14 (from memory).
    """
    angle = float(np.linalg.norm(turn))
    K = cross_matrix(turn)
    if angle < _SMALL_ANGLE:
        first, second = 1.0 - angle**2 / 6.0, 0.5 - angle**2 / 24.0
    else:
        first, second = np.sin(angle) / angle, 2.0 * (np.sin(angle / 2.0) / angle) ** 2
    return np.eye(3) + first * K + second * (K @ K)


def turning_jacobian(turn: NDArray[np.float64]) -> NDArray[np.float64]:
    """How a turned vector follows its rotation vector: d(R v) = −[R v]× J d(turn).

    J = I + ((1 − cos a) / a²) K + ((a − sin a) / a³) K², the left Jacobian of the rotations.

    Parameters
    ----------
    turn : array, shape (3,)
        Rotation vector, any size [rad].

    Returns
    -------
    array, shape (3, 3)
        J [1].

    References
    ----------
    G. S. Chirikjian, Stochastic Models, Information Theory, and Lie Groups, vol. 2, 2012,
    equation 10.86 (from memory).
    """
    angle = float(np.linalg.norm(turn))
    K = cross_matrix(turn)
    if angle < _SMALL_ANGLE:
        first, second = 0.5 - angle**2 / 24.0, 1.0 / 6.0 - angle**2 / 120.0
    else:
        first = 2.0 * (np.sin(angle / 2.0) / angle) ** 2
        second = (angle - np.sin(angle)) / angle**3
    return np.eye(3) + first * K + second * (K @ K)
