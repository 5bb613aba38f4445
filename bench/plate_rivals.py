"""Two other ways to the temperature history of a heated plate, for `bench_heat.py`.

SciPy's BDF on finite volumes with their sparse analytic Jacobian, and scikit-fem's bilinear
elements with Crank–Nicolson steps. Both take the plate's loss from the model's own table.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.integrate import solve_ivp
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad1, MeshQuad, asm
from skfem.helpers import dot, grad

from panelwright.bond.panel import PanelSetup
from panelwright.bond.plate import Plate
from panelwright.bond.radiation import STEFAN_BOLTZMANN

Floats = NDArray[np.float64]
KELVIN = 273.15
REFERENCE = 25.0
"""Loss that the elements take implicitly; what the true loss departs from it is extrapolated."""


@dataclass(frozen=True)
class Task:
    """A plate under one lamp after the other, without an ensemble.

    Parameters
    ----------
    setup : PanelSetup
        Of one member.
    plate : Plate
    places_mm : array, shape (p, 2)
        Where the temperature is wanted [mm].
    times_s : array, shape (t,)
        When, with every switch among them [s].
    """

    setup: PanelSetup
    plate: Plate
    places_mm: Floats
    times_s: Floats

    @property
    def edges_s(self) -> list[float]:
        """When lamps are switched, and the end [s]."""
        switches = {60.0 * t for lamp in self.setup.lamps for stay in lamp.stays for t in stay}
        return sorted({0.0, float(self.times_s[-1]), *switches})

    def flux(self, x_mm: Floats, y_mm: Floats, second: float) -> Floats:
        """What places absorb at a time [W/m²]."""
        on = [lamp for lamp in self.setup.lamps if lamp.on_at(second / 60.0)]
        found: Floats = np.sum([lamp.absorbed(x_mm, y_mm)[0] for lamp in on], axis=0)
        return found if on else np.zeros(len(x_mm))

    def loss(self, celsius: Floats) -> tuple[Floats, Floats]:
        """What both faces lose, and its slope [W/m²], [W/(m² K)]."""
        setup = self.setup
        out, slope = setup.convection.at(celsius - setup.air_C[0])
        factor, strength = setup.convection_factor[0], STEFAN_BOLTZMANN * setup.emissivity[0]
        kelvin = celsius + KELVIN
        cube = strength * kelvin * kelvin * kelvin
        walls = strength * (setup.surroundings_C[0] + KELVIN) ** 4
        return factor * out + cube * kelvin - walls, factor * slope + 4.0 * cube


def conduction(plate: Plate) -> sparse.csc_array:
    """Conduction between cells, rows numbered fastest [W/(m² K)]."""
    count, width = len(plate.along_mm), 1e-3 * plate.width_mm
    half = width / plate.conductance
    flows = 2.0 / (half[1:] + half[:-1])
    own = np.append(flows, 0.0) + np.insert(flows, 0, 0.0)
    across = sparse.csc_array(
        np.diag(-own / width) + np.diag(flows / width[:-1], 1) + np.diag(flows / width[1:], -1)
    )
    ends = np.full(count, -2.0)
    ends[[0, -1]] = -1.0
    beside = np.ones(count - 1)
    along = np.diag(ends) + np.diag(beside, 1) + np.diag(beside, -1)
    along_m2 = sparse.csc_array(along / plate.along_m**2)
    whole = sparse.kron(along_m2, np.diag(plate.conductance), format="csc")
    return sparse.csc_array(whole + sparse.kron(np.eye(count), across, format="csc"))


def between(x_mm: Floats, y_mm: Floats, places_mm: Floats) -> sparse.csr_array:
    """Bilinear interpolation to places from a grid, its second axis fastest, shape (p, i j)."""
    parts = []
    for middles, wanted in zip((x_mm, y_mm), places_mm.T, strict=True):
        low = np.clip(np.searchsorted(middles, wanted) - 1, 0, len(middles) - 2)
        part = np.clip((wanted - middles[low]) / (middles[low + 1] - middles[low]), 0.0, 1.0)
        parts.append(((low, 1.0 - part), (low + 1, part)))
    count = len(places_mm)
    found = sparse.csr_array((count, len(x_mm) * len(y_mm)))
    for (a, share_a), (b, share_b) in itertools.product(*parts):
        cells = a * len(y_mm) + b
        found = found + sparse.csr_array(
            (share_a * share_b, (np.arange(count), cells)), shape=found.shape
        )
    return found


def between_nodes(x: Floats, y: Floats, places_mm: Floats) -> sparse.csr_array:
    """The same from nodes in any order, shape (p, nodes)."""
    (along, i), (across, j) = (np.unique(np.round(a, 6), return_inverse=True) for a in (x, y))
    grid = between(along, across, places_mm)
    return sparse.csr_array(grid[:, i * len(across) + j])


def most_off(times_s: Floats, celsius: Floats, whole_s: Floats, right: Floats) -> float:
    """Greatest difference from what is right at a choice of its times [K]."""
    at = np.searchsorted(whole_s, times_s)
    return float(np.max(np.abs(celsius - right[:, at])))


def by_bdf(task: Task, *, rtol: float, atol: float) -> Floats:
    """SciPy's BDF, begun anew at each switch, shape (p, t) [°C]."""
    plate = task.plate
    flows = conduction(plate)
    weight = np.tile(1.0 / plate.capacity, len(plate.along_mm))
    flows = sparse.csc_array(sparse.diags_array(weight) @ flows)
    x, y = (a.ravel() for a in np.meshgrid(plate.along_mm, plate.across_mm, indexing="ij"))
    there = between(plate.along_mm, plate.across_mm, task.places_mm)
    now = np.full(len(x), float(task.setup.start_C[0]))
    found = [there @ now[:, None]]

    def jacobian(_second: float, celsius: Floats) -> sparse.csc_array:
        return flows - sparse.diags_array(weight * task.loss(celsius)[1], format="csc")

    for start, end in itertools.pairwise(task.edges_s):
        absorbed = task.flux(x, y, (start + end) / 2)

        def rate(_second: float, celsius: Floats, absorbed: Floats = absorbed) -> Floats:
            gained: Floats = flows @ celsius + weight * (absorbed - task.loss(celsius)[0])
            return gained

        wanted = task.times_s[(task.times_s > start) & (task.times_s <= end)]
        run = solve_ivp(
            rate, (start, end), now, "BDF", t_eval=wanted, jac=jacobian, rtol=rtol, atol=atol
        )
        now = run.y[:, -1]
        found.append(there @ run.y)
    return np.hstack(found)


@dataclass
class Elements:
    """Bilinear elements on the plate's rectangles, and Crank–Nicolson steps of a few lengths."""

    task: Task
    basis: Basis = field(init=False)

    def __post_init__(self) -> None:
        plate = self.task.plate
        dx = 1e3 * plate.along_m
        along = plate.along_mm[0] - dx / 2 + dx * np.arange(len(plate.along_mm) + 1)
        low = plate.across_mm[0] - plate.width_mm[0] / 2
        across = low + np.append(0.0, np.cumsum(plate.width_mm))
        self.basis = Basis(MeshQuad.init_tensor(1e-3 * along, 1e-3 * across), ElementQuad1())
        middles = self.basis.mesh.p[1, self.basis.mesh.t].mean(axis=0)
        row = np.clip(np.searchsorted(1e-3 * across, middles) - 1, 0, len(plate.across_mm) - 1)
        self._kappa, self._capacity = plate.conductance[row, None], plate.capacity[row, None]
        kappa, capacity = self._kappa, self._capacity
        stiff = BilinearForm(
            lambda u, v, w: kappa * dot(grad(u), grad(v)) + REFERENCE * u * v  # noqa: ARG005
        )
        self.stiff = sparse.csc_matrix(asm(stiff, self.basis))
        heavy = BilinearForm(lambda u, v, w: capacity * u * v)  # noqa: ARG005
        self.heavy = sparse.csc_matrix(asm(heavy, self.basis))
        plain = BilinearForm(lambda u, v, w: u * v)  # noqa: ARG005
        self.plain = sparse.csc_matrix(asm(plain, self.basis))
        self._solvers: dict[float, Callable[[Floats], Floats]] = {}

    def solver(self, seconds: float) -> Callable[[Floats], Floats]:
        """One factorisation for each time that a step is implicit for, kept."""
        if seconds not in self._solvers:
            factors = splu(
                (self.heavy + seconds * self.stiff).tocsc(),
                permc_spec="MMD_AT_PLUS_A",
                options={"SymmetricMode": True},
            )
            self._solvers[seconds] = factors.solve
        return self._solvers[seconds]

    def run(self, lengths: Sequence[float], each: int) -> tuple[Floats, Floats]:
        """Temperatures at the places, stepped by rising lengths after each switch.

        Parameters
        ----------
        lengths : sequence of float
            Rising; the last is kept to the next switch and divides what is left [s].
        each : int
            Steps of each length; two of implicit Euler, half as long as the first, come after
            every switch.

        Returns
        -------
        times_s : array, shape (t,)
        celsius : array, shape (p, t)
        """
        task = self.task
        x, y = 1e3 * self.basis.doflocs
        there = between_nodes(x, y, task.places_mm)
        u = np.zeros(len(x))
        start_C = float(task.setup.start_C[0])
        times, found = [0.0], [there @ (u + start_C)]
        for start, end in itertools.pairwise(task.edges_s):
            absorbed = task.flux(x, y, (start + end) / 2)
            now, before, last, number = start, None, 0.0, 0
            while now < end - 1e-6:
                euler = number < 2
                length = lengths[min(max(number - 2, 0) // each, len(lengths) - 1)]
                step = min(0.5 * length if euler else length, end - now)
                other = absorbed + REFERENCE * u - task.loss(u + start_C)[0]
                ahead = other
                if before is not None:
                    ahead = other + 0.5 * step / last * (other - before)
                push = self.plain @ ahead - self.stiff @ u
                u = u + self.solver(step if euler else 0.5 * step)(step * push)
                before, last, now, number = other, step, now + step, number + 1
                times.append(now)
                found.append(there @ (u + start_C))
        return np.array(times), np.column_stack(found)
