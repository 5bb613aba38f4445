"""The heated plate in finite elements: bilinear quadrilaterals, Crank-Nicolson, own lamp and loss.

C ∂T/∂t = ∇·(κ∇T) + α G(x, t) − h(T)(T − T_air) − εσ(T⁴ − T_walls⁴) on skin, overlap and inner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_matrix, diags
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad1, LinearForm, MeshQuad

if TYPE_CHECKING:
    from bench.heat_study.world import Air, Lamp, Metal, Standing, World
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

KELVIN = 273.15
BOLTZMANN_W = 5.67e-8
REFERENCE_LOSS = 20.0
"""Taken implicitly [W/(m² K)]; the rest is iterated."""
SWEEPS = 3
COOLING_MIN = 150.0
ALUMINIUM, FILM = 2700.0 * 900.0, 1300.0 * 1500.0
"""Heat of a cubic metre [J/(m³ K)]."""


@dataclass(frozen=True)
class Mesh:
    """How fine: longest element along [m], narrowest across [m], its growth, step [min]."""

    along_m: float = 0.035
    across_m: float = 0.010
    growth: float = 1.5
    step_min: float = 0.5


@dataclass(frozen=True)
class Course:
    """Temperatures along the joint's middle line from its closing on.

    Parameters
    ----------
    minutes : array, shape (n,)
        [min]
    along_mm : array, shape (s,)
        From the joint's start to its end [mm].
    celsius : array, shape (n, s)
        [°C]
    """

    minutes: Floats
    along_mm: Floats
    celsius: Floats

    def at(self, minute: float, along_mm: float) -> float:
        """Temperature at a minute and a place [°C]."""
        return float(np.interp(along_mm, self.along_mm, self.row(minute)))

    def row(self, minute: float) -> Floats:
        """Temperatures along the joint at a minute, shape (s,) [°C]."""
        right = int(np.clip(np.searchsorted(self.minutes, minute), 1, len(self.minutes) - 1))
        left, end = self.minutes[right - 1], self.minutes[right]
        part = (minute - left) / (end - left)
        found: Floats = (1.0 - part) * self.celsius[right - 1] + part * self.celsius[right]
        return found


def _graded(reach: float, mesh: Mesh) -> Floats:
    """Places from 0 to a reach, growing apart [m]."""
    widths = [mesh.across_m]
    while sum(widths) < reach:
        widths.append(widths[-1] * mesh.growth)
    places: Floats = np.append(0.0, np.cumsum(widths)) * reach / sum(widths)
    return places


def _even(start: float, end: float, mesh: Mesh) -> Floats:
    return np.linspace(start, end, max(int(np.ceil((end - start) / mesh.along_m)), 2) + 1)


def mesh_of(metal: Metal, mesh: Mesh) -> MeshQuad:
    """The plate; x along the joint, y across it, the overlap's middle at 0 [m]."""
    length, half = 1e-3 * metal.length, 0.5e-3 * metal.overlap
    ends = 1e-3 * metal.reach_ends
    x = np.unique(
        np.concatenate(
            [
                _even(-ends, 0.0, mesh),
                _even(0.0, length, mesh),
                _even(length, length + ends, mesh),
            ]
        ).round(9)
    )
    inner, skin = _graded(1e-3 * metal.reach_inner, mesh), _graded(1e-3 * metal.reach_skin, mesh)
    y = np.concatenate([-half - inner[:0:-1], [-half, 0.0, half], half + skin[1:]])
    return MeshQuad.init_tensor(x, y)


def irradiance(lamp: Lamp, along_mm: float, x: Floats, y: Floats) -> Floats:
    """What a lamp gives to places, by adding up small pieces of its aperture [W/m²].

    dG = P/A (n + 1)/(2π) cosⁿθ_lamp cosθ_panel/r² dA
    """
    wide, high = lamp.size_mm
    u = (np.arange(12) + 0.5) / 12.0 - 0.5
    v = (np.arange(6) + 0.5) / 6.0 - 0.5
    tilt_x, tilt_z = np.sin(lamp.tilt), np.cos(lamp.tilt)
    found = np.zeros_like(x)
    for one in u * wide:
        for two in v * high:
            dx = 1e3 * x - (along_mm + one * tilt_z)
            dy = 1e3 * y - (lamp.across_mm + two)
            dz = lamp.distance_mm + one * tilt_x
            r = np.sqrt(dx * dx + dy * dy + dz * dz)
            off_axis = np.maximum((dx * tilt_x + dz * tilt_z) / r, 0.0)
            found += off_axis**lamp.lobe * (dz / r) / (1e-3 * r) ** 2
    share = lamp.forward_W / (len(u) * len(v))
    result: Floats = share * (lamp.lobe + 1.0) / (2.0 * np.pi) * found
    return result


def still_air(excess_K: Floats, height_m: float) -> Floats:
    """McAdams' simple laws of an upright plate in air [W/(m² K)].

    h = 1.42 (ΔT/L)^¼ where Ra is below 10⁹, else 1.31 ΔT^⅓ (from memory: McAdams 1954, as in
    Holman, Heat Transfer, table 7-2); Ra = 7.3·10⁷ L³ΔT for air at about 40 °C.
    """
    excess = np.abs(excess_K)
    laminar = 1.42 * (excess / height_m) ** 0.25
    turbulent = 1.31 * excess ** (1.0 / 3.0)
    return np.where(7.3e7 * height_m**3 * excess < 1e9, laminar, turbulent)


def draught(air: Air) -> float:
    """Laminar flow along a plate, Nu = 0.664 Re^½ Pr^⅓, air at about 40 °C [W/(m² K)]."""
    reynolds = air.draught_m_s * air.height_m / 1.7e-5
    return float(0.664 * np.sqrt(reynolds) * 0.71 ** (1.0 / 3.0) * 0.0271 / air.height_m)


def loss(celsius: Floats, minute: float, world: World) -> Floats:
    """What both faces lose [W/m²]; the draught is on the front."""
    air_C = world.air.at(minute)
    excess = celsius - air_C
    still = still_air(excess, world.air.height_m)
    front = (still**3 + draught(world.air) ** 3) ** (1.0 / 3.0)
    walls = (air_C + world.air.walls_K + KELVIN) ** 4
    radiated = BOLTZMANN_W * sum(world.emissivity) * ((celsius + KELVIN) ** 4 - walls)
    result: Floats = world.air.convection * (still + front) * excess + radiated
    return result


@dataclass(frozen=True)
class Matrices:
    """Of the plate: basis, stiffness [W/K], heat [J/K] and area [m²] of each node."""

    basis: Basis
    stiff: csr_matrix[np.float64]
    heat: Floats
    area: Floats


def matrices(metal: Metal, mesh: Mesh) -> Matrices:
    """Assemble them."""
    basis = Basis(mesh_of(metal, mesh), ElementQuad1())
    half = 0.5e-3 * metal.overlap
    inner, skin, film = (1e-3 * one for one in (metal.inner, metal.skin, metal.film))

    def layered(y: Floats, sheet: float, glue: float) -> Floats:
        """Sum over the layers that lie at y."""
        both = sheet * (inner + skin) + glue * film
        return np.where(y < -half, sheet * inner, np.where(y > half, sheet * skin, both))

    @BilinearForm
    def conducted(u, v, w):  # type: ignore[no-untyped-def]
        there = layered(w.x[1], metal.conductivity, 0.2)
        return there * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])

    @LinearForm
    def stored(v, w):  # type: ignore[no-untyped-def]
        return layered(w.x[1], ALUMINIUM, FILM) * v

    @LinearForm
    def covered(v, _):  # type: ignore[no-untyped-def]
        return 1.0 * v

    return Matrices(
        basis, conducted.assemble(basis), stored.assemble(basis), covered.assemble(basis)
    )


def absorbed(world: World, x: Floats, y: Floats) -> list[tuple[Standing, Floats]]:
    """What places take up while the lamp stands where it stands [W/m²]."""
    return [
        (one, world.absorptivity * irradiance(world.lamp, one.along_mm, x, y))
        for one in world.lamp.standings
    ]


def fields(world: World, parts: Matrices, minutes: Floats) -> Floats:
    """Temperatures of all nodes, shape (n, nodes) [°C], at evenly spaced minutes."""
    x, y = parts.basis.doflocs
    lit = absorbed(world, x, y)
    step_min = float(minutes[1] - minutes[0])
    steady = diags(parts.heat / (60.0 * step_min))
    own = 0.5 * REFERENCE_LOSS * parts.area
    solve = splu((steady + 0.5 * parts.stiff + diags(own)).tocsc()).solve
    explicit = (steady - 0.5 * parts.stiff).tocsr()
    now = np.full(len(x), world.air.at(0.0))
    found = [now]
    for minute in minutes[:-1].tolist():
        middle = minute + 0.5 * step_min
        given = sum((g for one, g in lit if one.from_min <= middle < one.to_min), np.zeros_like(x))
        fixed = explicit @ now + parts.area * (given - 0.5 * loss(now, minute, world))
        new = now
        for _ in range(SWEEPS):
            lost = loss(new, minute + step_min, world)
            new = solve(fixed - 0.5 * parts.area * lost + own * new)
        now = new
        found.append(now)
    return np.array(found)


def course(world: World, mesh: Mesh | None = None) -> Course:
    """Temperatures of a heated joint until it has cooled.

    Parameters
    ----------
    world : World
    mesh : Mesh, optional

    Returns
    -------
    Course
    """
    mesh = mesh or Mesh()
    parts = matrices(world.metal, mesh)
    x, y = parts.basis.doflocs
    until = world.lamp.standings[-1].to_min + COOLING_MIN
    minutes = np.arange(0.0, until + 0.5 * mesh.step_min, mesh.step_min)
    length = 1e-3 * world.metal.length
    line = np.flatnonzero((np.abs(y) < 1e-9) & (x > -1e-9) & (x < length + 1e-9))
    line = line[np.argsort(x[line])]
    return Course(minutes, 1e3 * x[line], fields(world, parts, minutes)[:, line])
