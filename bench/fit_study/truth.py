"""The truth of one repair, its noise, and the repair file that a technician would write of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from bench.fit_study.design import SCALE_U, WANT_MM, Design, design
from bench.fit_study.forward import MIRROR, places, read, slopes
from bench.fit_study.zones import NAMES, Edge, Flange, Pin, Zone, zone
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INCH_16 = 25.4 / 16.0
STEPS_MM = {"exact": 0.0, "1 mm": 1.0, "1/16 in": INCH_16}
"""What readings are rounded to."""
WORST_U_MM = 2.5
"""Readings that leave a point less sure than this are no ordinary set."""
ROOM_MM = 4.5
"""Panels are misplaced by so much and five uncertainties more: beyond every tolerance."""
BUILT_MM, ROUGH_MM = 3.0, 20.0
"""How far bodies differ from the layout, and how rough starting coordinates are."""


@dataclass(frozen=True)
class Case:
    """One repair whose truth is known.

    Parameters
    ----------
    state : array, shape (u,)
        Truth.
    noise : array, shape (m,)
        Error of every equation: observed less true.
    slopes : array, shape (m, u)
        At the truth.
    """

    design: Design
    state: Floats
    noise: Floats
    slopes: Floats

    @property
    def true(self) -> Floats:
        """What perfect tools would read."""
        values: Floats = read(self.design.layout, self.design.rows, self.state[None])[0]
        return values

    @property
    def off(self) -> Floats:
        """How far the panel's points truly are off, shape (p, 3)."""
        off: Floats = places(self.design.layout, self.state[None])[2][0]
        return off


def sigma_of(plan: Design, step_mm: float) -> Floats:
    """True standard uncertainty of every equation where numbers are rounded to a step."""
    sigma = plan.rows.sigma.copy()
    sigma[plan.numeric] = np.sqrt(sigma[plan.numeric] ** 2 + step_mm**2 / 12.0)
    return sigma


def covariance_of(jacobian: Floats, sigma: Floats) -> Floats:
    """Covariance of the state by true uncertainties."""
    weighted = jacobian / sigma[:, None]
    scale = np.linalg.norm(weighted, axis=0)
    weighted = weighted / scale
    inverse: Floats = np.linalg.inv(weighted.T @ weighted) / np.outer(scale, scale)
    return inverse


def off_slopes(case_design: Design, state: Floats) -> Floats:
    """Derivative of how far points are off by the pose, shape (p, 3, 6)."""
    layout = case_design.layout
    steps = layout.steps[layout.pose]
    about = np.repeat(state[None], 12, axis=0)
    about[np.arange(6), layout.pose.start + np.arange(6)] += steps
    about[6 + np.arange(6), layout.pose.start + np.arange(6)] -= steps
    off = places(layout, about)[2]
    found: Floats = ((off[:6] - off[6:]) / (2.0 * steps[:, None, None])).transpose(1, 2, 0)
    return found


def _flipped(whole: Zone) -> Zone:
    """The same zone for damage on the right."""
    over = MIRROR

    def moved(place: Edge | Flange | Pin) -> Any:
        changed = {
            key: value * over for key, value in vars(place).items() if isinstance(value, np.ndarray)
        }
        return replace(place, **changed)

    return replace(
        whole,
        body={name: xyz * over for name, xyz in whole.body.items()},
        panel={name: xyz * over for name, xyz in whole.panel.items()},
        edges=tuple(moved(place) for place in whole.edges),
        flanges=tuple(moved(place) for place in whole.flanges),
        pins=tuple(moved(place) for place in whole.pins),
    )


def _nominal(plan: Design) -> Floats:
    state = np.zeros(plan.layout.scale.stop)
    near = {**plan.zone.body, **{f"old {name}": xyz for name, xyz in plan.zone.panel.items()}}
    nodes = [near[name] for name in plan.names[: plan.layout.nodes]]
    state[: 3 * plan.layout.nodes] = np.concatenate(nodes)
    return state


def _body(plan: Design, noise: Floats, random: np.random.Generator) -> Floats:
    """Body as built, with the pairs as far from mirror-wise as the noise says."""
    state = _nominal(plan)
    layout = plan.layout
    state[: 3 * layout.nodes] += random.normal(0.0, BUILT_MM, 3 * layout.nodes)
    number = {name: k for k, name in enumerate(plan.names)}
    for k, (near, far) in enumerate(plan.zone.pairs):
        row = plan.pair_rows + 3 * k
        other = state[3 * number[far] : 3 * number[far] + 3]
        state[3 * number[near] : 3 * number[near] + 3] = MIRROR * other - noise[row : row + 3]
    after = plan.pair_rows + 3 * len(plan.zone.pairs)
    count = layout.shape.stop - layout.shape.start
    state[layout.shape] = -noise[after : after + count]
    state[layout.scale] = -noise[after + count : after + count + len(SCALE_U)]
    return state


def _held_rows(plan: Design, jacobian: Floats) -> tuple[list[int], Floats]:
    """Rows that say seated or aligned, and how they follow the pose."""
    rows = [row for row, _ in plan.held]
    return rows, jacobian[rows][:, plan.layout.pose]


def _hang(
    plan: Design, state: Floats, noise: Floats, random: np.random.Generator
) -> tuple[Floats, Floats] | None:
    """Hang the panel anywhere alike; flanges and pins that hold it pull it to where they say.

    The region is wide against what the readings leave unsure, so that no place is likelier than
    another for whoever sees the readings only. None where the readings are no ordinary set.
    """
    layout, pose = plan.layout, plan.layout.pose
    jacobian = slopes(layout, plan.rows, state)
    weighted = np.linalg.norm(jacobian / plan.rows.sigma[:, None], axis=0)
    if weighted.min() <= 0.0:
        return None
    covariance = covariance_of(jacobian, plan.rows.sigma)[pose, pose]
    follow = off_slopes(plan, state)
    spreads = follow @ covariance @ follow.transpose(0, 2, 1)
    if not np.linalg.eigvalsh(spreads)[:, -1].max() < WORST_U_MM**2:
        return None
    u = np.sqrt(np.diagonal(covariance))
    arm = np.linalg.norm(np.ptp(layout.places, axis=0)) / 2.0
    half = np.concatenate([ROOM_MM + 5.0 * u[:3], ROOM_MM / arm + 5.0 * u[3:]])
    state = state.copy()
    state[pose] = random.uniform(-half, half)
    rows, held = _held_rows(plan, jacobian)
    if not rows:
        return state, noise
    scaled = held * half
    if np.linalg.svd(scaled / np.linalg.norm(scaled, axis=1)[:, None])[1][-1] < 0.1:
        return None
    pull = half[:, None] * np.linalg.pinv(scaled)
    for _ in range(3):
        now = read(layout, plan.rows, state[None])[0][rows]
        state[pose] += pull @ (-noise[rows] - now)
    noise = noise.copy()
    noise[rows] = -read(layout, plan.rows, state[None])[0][rows]
    return state, noise


Spoil = Callable[[Design, Floats, np.random.Generator], Floats]


def _as_said(_plan: Design, noise: Floats, _random: np.random.Generator) -> Floats:
    return noise


def draw(random: np.random.Generator, number: int, spoil: Spoil = _as_said) -> Case:
    """Draw one repair; zones take turns. `spoil` may make the errors other than the file says."""
    names = list(NAMES)
    while True:
        whole = zone(names[number % len(names)])
        plan = design(_flipped(whole) if random.random() < 0.5 else whole, random)
        noise = random.normal(0.0, plan.rows.sigma)
        for row, play in plan.held:
            if play > 0.0:
                noise[row] = random.uniform(-play / 2.0, play / 2.0)
        noise = spoil(plan, noise, random)
        hung = _hang(plan, _body(plan, noise, random), noise, random)
        if hung is not None:
            state, noise = hung
            return Case(plan, state, noise, slopes(plan.layout, plan.rows, state))


def rounded(values: Floats, step_mm: float) -> Floats:
    """Values as they are read off a scale with such steps."""
    return values if step_mm == 0.0 else step_mm * np.round(values / step_mm)


def tables(
    case: Case,
    rounding: str,
    observed: Floats,
    random: np.random.Generator,
    *,
    tells_step: bool = True,
) -> dict[str, Any]:
    """The repair file; `observed` holds what every reading shows.

    `tells_step`: whether tools say to what step their readings are rounded.
    """
    plan = case.design
    step = STEPS_MM[rounding]
    shown = rounded(observed, step)
    tools = [
        {"id": id_, "u": u, "scale_u": SCALE_U.get(id_, 0.0)} for id_, u in plan.tool_u.items()
    ]
    if step and tells_step:
        tools = [{**tool, "resolution": rounding} for tool in tools]
    return {
        "format": 1,
        "repair": {"name": "study"},
        "symmetry": {"u": plan.symmetry_u},
        "part": [{"id": plan.zone.part, "state": "replace"}],
        "point": list(_points(case, observed, random)),
        "tool": tools,
        **_flanges(plan),
        "reading": [_entry(entry, shown, rounding) for entry in plan.entries],
    }


def _text(value: float, rounding: str) -> Any:
    if rounding == "exact":
        return float(value)
    if rounding == "1 mm":
        return f"{round(value)} mm"
    return f"{round(value / INCH_16)}/16 in"


def _entry(entry: Any, shown: Floats, rounding: str) -> dict[str, Any]:
    said = dict(entry.keys)
    for key, rows in entry.filled:
        texts = [_text(shown[row], rounding) for row in rows]
        if key == "off":
            said[key] = texts if len(texts) == 2 else [texts[0], texts[0]]
        else:
            said[key] = texts[0]
    return said


def _points(case: Case, observed: Floats, random: np.random.Generator) -> Any:
    plan = case.design
    near_to_far = dict(plan.zone.pairs)
    for name, xyz in plan.zone.body.items():
        point: dict[str, Any] = {"id": name}
        if name in plan.sheet:
            row = plan.sheet[name]
            point |= {"xyz": observed[row : row + 3].tolist(), "u": plan.sheet_u}
        else:
            point |= {"xyz": (xyz + random.normal(0.0, ROUGH_MM, 3)).tolist()}
            point |= {"twin": near_to_far[name]}
        yield point
    for name, xyz in plan.zone.panel.items():
        point = {"id": name, "on": plan.zone.part, "tolerance": plan.tolerance[name]}
        if plan.home == "twin":
            point |= {"twin": plan.zone.twin[name], "home": "twin"}
        elif plan.home == "xyz":
            point |= {"xyz": xyz.tolist(), "u": plan.sheet_u, "home": "xyz"}
        else:
            rough = (xyz + random.normal(0.0, ROUGH_MM, 3)).tolist()
            point |= {"xyz": rough, "home": "before"}
        yield point


def _flanges(plan: Design) -> dict[str, list[dict[str, Any]]]:
    part, zone_ = plan.zone.part, plan.zone
    checks = {"gap": {"want": WANT_MM, "tolerance": 1.0}, "flush": {"want": 0.0, "tolerance": 1.0}}
    return {
        "station": [
            {
                "id": edge.id,
                "part": part,
                "xyz": edge.xyz.tolist(),
                "gap_towards": edge.gap_towards.tolist(),
                "flush_towards": edge.flush_towards.tolist(),
                **checks,
            }
            for edge in zone_.edges
        ],
        "contact": [
            {"id": f.id, "part": part, "xyz": f.xyz.tolist(), "normal": f.normal.tolist()}
            for f in zone_.flanges
        ],
        "locator": [
            {
                "id": pin.id,
                "part": part,
                "xyz": pin.xyz.tolist(),
                "axis": pin.axis.tolist(),
                "clearance": pin.play_mm,
                **({} if pin.slot is None else {"slot_along": pin.slot.tolist()}),
            }
            for pin in zone_.pins
        ],
    }
