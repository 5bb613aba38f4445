"""Large networks by sparse matrices: the same answers as by dense ones."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.sparse import csr_array
from tests.fit.build import repair

from panelwright.facts.file import read
from panelwright.fit.answer import Status
from panelwright.fit.blocks import Chain, Order, Pieces, SingularError
from panelwright.fit.datum import Adjusted, adjust
from panelwright.fit.large import LARGE, adjust_large, is_large
from panelwright.fit.network import network_of
from panelwright.fit.snooping import redundancy_of
from panelwright.fit.sparse_equations import SparseEquations

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]

ALIKE = 1e-9
HERON = Path(__file__).parents[2] / "examples" / "heron.toml"


def long_body(points: int, *, given: bool = True, seed: int = 3) -> Network:
    """A body of many points, each read against its neighbours with one tape."""
    random = np.random.default_rng(seed)
    corners = (0.0, -850.0, 300.0), (175.0 * points, 850.0, 1700.0)
    true = random.uniform(*corners, (points, 3))
    true = true[np.argsort(true[:, 0])]
    held = range(0, points, 6) if given else ()
    tables = {
        "point": [
            {
                "id": f"P{k}",
                "xyz": (xyz + random.normal(0.0, 2.0 if k in held else 15.0, 3)).tolist(),
                **({"u": 2} if k in held else {}),
            }
            for k, xyz in enumerate(true)
        ],
        "tool": [{"id": "tape", "u": 1, "offset_u": 0.5, "scale_u": 2e-4}],
        "reading": [
            {
                "from": f"P{k}",
                "to": f"P{j}",
                "value": float(np.linalg.norm(true[k] - true[j]) + random.normal()),
                "with": "tape",
            }
            for k in range(points)
            for j in random.permutation(np.arange(max(0, k - 15), k))[:8]
        ],
    }
    return network_of(repair(**tables))


def dense(network: Network, monkeypatch: pytest.MonkeyPatch) -> Adjusted:
    """The same network without sparse matrices."""
    monkeypatch.setattr("panelwright.fit.datum.is_large", lambda _: False)
    return adjust(network.equations, network.start, network.frame)


@pytest.fixture(scope="module", params=["long body", "heron"])
def network(request: pytest.FixtureRequest) -> Network:
    return (
        long_body(90)
        if request.param == "long body"
        else network_of(read(HERON.read_text(encoding="utf-8")))
    )


@pytest.mark.second_route
def test_the_sparse_derivatives_are_the_dense_ones(network: Network) -> None:
    residual, jacobian = network.equations.weighted(network.start)
    sparse_residual, sparse = SparseEquations(network.equations).weighted(network.start)
    np.testing.assert_allclose(sparse_residual, residual, rtol=ALIKE, atol=ALIKE)
    np.testing.assert_allclose(sparse.toarray(), jacobian, rtol=ALIKE, atol=1e-14)


@pytest.mark.second_route
def test_the_sparse_estimate_is_the_dense_one(
    network: Network, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = adjust_large(network.equations, network.start)
    other = dense(network, monkeypatch)
    assert found is not None
    assert found.status is Status.CONVERGED
    assert found.iterations == other.iterations
    np.testing.assert_allclose(found.x, other.x, rtol=ALIKE, atol=ALIKE)
    size = np.sqrt(np.outer(np.diagonal(other.covariance), np.diagonal(other.covariance)))
    assert np.abs((found.covariance() - other.covariance) / size).max() < ALIKE
    np.testing.assert_allclose(found.variances, np.diagonal(other.covariance), rtol=ALIKE)
    np.testing.assert_allclose(found.redundancy, redundancy_of(other), atol=ALIKE)
    first = np.arange(3)
    np.testing.assert_allclose(found.block(first), other.covariance[:3, :3], rtol=1e-8, atol=ALIKE)


@pytest.mark.second_route
def test_a_large_network_is_adjusted_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    network = long_body(LARGE // 3 + 5)
    assert is_large(network.equations)
    found = adjust(network.equations, network.start, network.frame)
    assert found.redundancy is not None
    other = dense(network, monkeypatch)
    np.testing.assert_allclose(found.x, other.x, rtol=ALIKE, atol=ALIKE)
    assert found.dof == other.dof
    assert found.sum_of_squares == pytest.approx(other.sum_of_squares, rel=ALIKE)


@pytest.mark.invariant
def test_a_body_that_floats_is_left_to_the_dense_way() -> None:
    network = long_body(30, given=False)
    assert adjust_large(network.equations, network.start) is None
    assert adjust(network.equations, network.start, network.frame).datum


@pytest.mark.exact
@pytest.mark.parametrize("often", [0, 2])
def test_a_chain_of_blocks_solves_and_inverts(often: int) -> None:
    """A band matrix in any order with a full border, against its plain inverse."""
    random = np.random.default_rng(8)
    rows = 200
    matrix = random.normal(size=(rows, rows))
    matrix *= np.abs(np.subtract.outer(np.arange(rows), np.arange(rows))) <= 5
    matrix[:, :often] = random.normal(size=(rows, often))
    matrix = np.tril(matrix) + np.tril(matrix, -1).T
    matrix += 2.0 * np.abs(matrix).sum(axis=1).max() * np.eye(rows)
    mixed = random.permutation(rows)
    matrix = matrix[np.ix_(mixed, mixed)]
    order = Order.of(csr_array(matrix))
    assert len(order.border) == often
    assert len(order.starts) > 3
    p, q = np.nonzero(np.tril(matrix))
    chain = Chain.of(Pieces.of(order, order.cells_of(p, q), matrix[p, q]))
    inverse = np.linalg.inv(matrix)
    right = random.normal(size=(rows, 2))
    np.testing.assert_allclose(chain.solve(right), inverse @ right, rtol=1e-10, atol=1e-15)
    p, q = np.nonzero(matrix)
    alike = 1e-13 * np.abs(inverse).max()
    np.testing.assert_allclose(chain.inverse_at(p, q), inverse[p, q], rtol=0, atol=alike)


@pytest.mark.exact
def test_a_chain_that_is_singular_is_refused() -> None:
    order = Order(np.arange(2), np.zeros(0, dtype=np.intp), 1)
    rows, columns = np.array([0, 1, 1]), np.array([0, 0, 1])
    with pytest.raises(SingularError):
        Chain.of(Pieces.of(order, order.cells_of(rows, columns), np.ones(3)))
