"""A joint's heat set-up: from the repair's facts to the inputs of the panel model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.cavity import BackLoss, Box
from panelwright.bond.ensemble import Ensemble, Input
from panelwright.bond.exotherm import BondLine, bond_line
from panelwright.bond.lamps import LampPlan, lamp_plan, lamp_setup, spread
from panelwright.bond.loss import ConvectiveLoss
from panelwright.bond.panel import PanelSetup, areal_heat_capacity
from panelwright.bond.plate import Layer, Plate, Strip, graded, plate_of
from panelwright.bond.surface import AIR_RANGE_C, panel_temperature
from panelwright.sources import Basis, Source, merge
from panelwright.tables import load

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.answer import Stay
    from panelwright.facts.models.bonding import Adhesive, Heating
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

    Floats = NDArray[np.float64]

ASSUMED_AIR_C = 20.0
ASSUMED_SHEET_MM = 1.2
ASSUMED_BOND_LINE_MM = 0.3
SPOT_STEP_MM = 60.0
"""Finer than the 90 mm over which aluminium smears the lamp's edge."""
MOST_SPOTS = 21
PLATE_CELL_MM, NARROWEST_MM, WIDENING = 70.0, 15.0, 1.5
"""Longest side of a cell, and how rows grow from the overlap on (error: tests)."""


@dataclass(frozen=True)
class HeatPlan:
    """One joint as the panel model sees it.

    Parameters
    ----------
    spots_mm : tuple of float
        Places along the joint that are followed [mm].
    heat_capacity : float
        Of the stack [J/(m² K)].
    air_C, air_u_K, panel_C : float
        Air with its standard uncertainty, and the panel at closing [°C].
    lamps : tuple of LampPlan
        Empty: the joint cures in air.
    limit_C : float or None
        What the layers stand [°C].
    """

    spots_mm: tuple[float, ...]
    heat_capacity: float
    air_C: float
    air_u_K: float
    panel_C: float | None
    lamps: tuple[LampPlan, ...]
    limit_C: float | None
    notes: tuple[str, ...]
    sources: tuple[Source, ...]
    plate: Plate | None = None
    """The panel about the joint, where a lamp heats it."""
    gap_mm: float | None = None
    """Of air behind it in a closed box; None: the bay's air is behind it."""
    level: bool = False
    """Whether it lies level, its heated face up."""
    line: BondLine | None = None
    """Its adhesive, for the heat that it gives off itself."""


def _material_row(material: str | None) -> int:
    """Row of ``panel_heat``; aluminium where the material's words name none."""
    words = (material or "").lower()
    names = [str(row["word"]) for row in load("panel_heat").records()]
    return next((number for number, name in enumerate(names) if name in words), 0)


def _stack(
    repair: Repair, joint: Joint, adhesive: Adhesive
) -> tuple[tuple[Layer, ...], float | None, list[str]]:
    """The sheets and last their adhesive, what they stand, and what was assumed."""
    table, notes = load("panel_heat"), []
    layers, limits = [], []
    for name in joint.layers:
        part = repair.part_by_id.get(name)
        row = _material_row(part.material if part else None)
        thickness = part.thickness.mm if part and part.thickness else ASSUMED_SHEET_MM
        if part is None or part.thickness is None:
            notes.append(f"{name}: thickness not given; {ASSUMED_SHEET_MM:g} mm is assumed.")
        layers.append(_layer(row, thickness))
        limit = table.records()[row]["limit"]
        limits += [limit] if isinstance(limit, float) else []
    glue = [row["material"] for row in table.records()].index("adhesive")
    bond_line = joint.remake.bond_line if joint.remake else None
    film = bond_line or adhesive.thickness
    film_mm = film.mm if film else ASSUMED_BOND_LINE_MM
    layers.append(_layer(glue, film_mm * max(len(layers) - 1, 1)))
    return tuple(layers), min(limits, default=None), notes


def _layer(row: int, thickness_mm: float) -> Layer:
    table = load("panel_heat")
    return Layer(
        table.number(row, "conductivity"),
        table.number(row, "density"),
        table.number(row, "specific_heat"),
        thickness_mm,
    )


def _plate(joint: Joint, layers: tuple[Layer, ...]) -> Plate | None:
    """The panel about a joint: skin, overlap with its adhesive, inner; None without a length.

    The skin lies on the positive side across the joint, the inner sheet on the other.
    """
    if joint.length is None or len(layers) < 3:
        return None
    reach = spread("reach")
    overlap = joint.flange.mm if joint.flange else spread("flange")
    inner, skin = Strip(reach, (layers[-2],)), Strip(reach, (layers[0],))
    strips = (
        *graded(inner, NARROWEST_MM, WIDENING, outward=False),
        Strip(overlap, layers),
        *graded(skin, NARROWEST_MM, WIDENING, outward=True),
    )
    span = (-reach, joint.length.mm + reach)
    return plate_of(span, strips, PLATE_CELL_MM, first_mm=-reach - overlap / 2)


def _air(repair: Repair) -> tuple[float, float, list[str]]:
    given = repair.conditions.air
    if given is not None and AIR_RANGE_C[0] <= given.celsius <= AIR_RANGE_C[1]:
        return given.celsius, spread("air"), []
    note = f"air temperature not known; {ASSUMED_AIR_C:g} ± {spread('air assumed'):g} °C is assumed"
    return ASSUMED_AIR_C, spread("air assumed"), [f"{note}. Measure it."]


def _spots(
    joint: Joint, lamps: tuple[LampPlan, ...], readings_mm: tuple[float, ...]
) -> tuple[float, ...]:
    """Even places along the joint, the lamps' centres and the places that were read."""
    if not lamps:
        return tuple(sorted({0.0, *readings_mm}))
    length = joint.length.mm if joint.length else 0.0
    count = int(np.clip(np.ceil(length / SPOT_STEP_MM) + 1, 2, MOST_SPOTS)) if length else 1
    even = np.linspace(0.0, length, count) if length else np.array([lamps[0].centre_mm[0]])
    centres = [lamp.centre_mm[0] for lamp in lamps if 0.0 <= lamp.centre_mm[0] <= length]
    return tuple(sorted({*(float(s) for s in even), *centres, *readings_mm}))


def _behind(heatings: tuple[Heating, ...]) -> tuple[float | None, list[str]]:
    """Air behind the panel in a closed box [mm], None where the bay is behind it; assumptions."""
    closed = next((heating for heating in heatings if heating.back == "closed"), None)
    if closed is None:
        return None, []
    if closed.gap is not None:
        return closed.gap.mm, []
    gap = spread("gap")
    return gap, [f"air behind the panel in its closed box not given; {gap:g} mm is assumed."]


def heat_plan(
    repair: Repair,
    joint: Joint,
    adhesive: Adhesive,
    heatings: tuple[tuple[Heating, tuple[Stay, ...]], ...],
    readings_mm: tuple[float, ...],
) -> HeatPlan:
    """One joint as the panel model sees it, with everything that had to be assumed.

    Parameters
    ----------
    repair : Repair
        Everything known.
    joint : Joint
        One of its joints.
    adhesive : Adhesive
        That it is made with.
    heatings : tuple of (Heating, tuple of Stay)
        Lamps before it and when they are on.
    readings_mm : tuple of float
        Places read along it [mm].

    Returns
    -------
    HeatPlan
    """
    layers, limit_C, notes = _stack(repair, joint, adhesive)
    capacity = areal_heat_capacity((o.density, o.specific_heat, o.thickness_mm) for o in layers)
    air_C, air_u, air_notes = _air(repair)
    lamps: list[LampPlan] = []
    for heating, stays in heatings:
        plan, more = lamp_plan(repair, joint, heating, stays)
        lamps.append(plan)
        notes += more
    if lamps and joint.length is None:
        notes.append("length of the joint not given: only the spot before the lamp is followed.")
    gap_mm, behind = _behind(tuple(heating for heating, _ in heatings))
    notes += behind
    tables = ("lamp_surfaces", "lamp_defaults", "panel_heat") if lamps else ()
    sources = merge(
        (Source(Basis.MEASURED, "air temperature of the bay"),) if not air_notes else (),
        (load(name).source for name in (*tables, "bond_input_spread")),
    )
    return HeatPlan(
        spots_mm=_spots(joint, tuple(lamps), readings_mm),
        heat_capacity=capacity,
        air_C=air_C,
        air_u_K=air_u,
        panel_C=panel_temperature(repair.conditions),
        lamps=tuple(lamps),
        limit_C=limit_C,
        notes=tuple(dict.fromkeys(air_notes + (notes if lamps else []))),
        sources=sources,
        plate=_plate(joint, layers) if lamps else None,
        gap_mm=gap_mm,
        level=any(heating.lies == "level" for heating, _ in heatings),
        line=bond_line(
            layers, joint.flange.mm if joint.flange else spread("flange"), spread("reach")
        ),
    )


def _until(plan: HeatPlan) -> float:
    """Last switch and ten time constants of cooling."""
    ends = [stay.to_min for lamp in plan.lamps for stay in lamp.stays]
    cooling = float(np.clip(10.0 * plan.heat_capacity / 12.0 / 60.0, 30.0, 360.0))
    return max(ends, default=0.0) + cooling


def _closed(plan: HeatPlan, back: Floats, factor: Floats) -> BackLoss | None:
    """Loss into the closed box behind the panel; None where it is open."""
    if plan.gap_mm is None:
        return None
    box = Box(1e-3 * plan.gap_mm, spread("height"), plan.level)
    return BackLoss.of(box, plan.air_C, back, factor)


def _convection(plan: HeatPlan, *, closed: bool) -> ConvectiveLoss:
    """Convection from the faces that the bay's air reaches."""
    if plan.level:
        return ConvectiveLoss.level(plan.air_C, spread("height"), below=not closed)
    return ConvectiveLoss.still_air(plan.air_C, spread("height"), faces=1 if closed else 2)


def panel_setup(plan: HeatPlan, ensemble: Ensemble) -> PanelSetup:
    """The panel model's inputs for every member of an ensemble.

    Parameters
    ----------
    plan : HeatPlan
        The joint.
    ensemble : Ensemble
        m members.

    Returns
    -------
    PanelSetup

    References
    ----------
    Spreads: table ``bond_input_spread`` (common practice, no source).
    """
    air = plan.air_C + plan.air_u_K * ensemble.column(Input.AIR)
    front = plan.lamps[0].emissivity if plan.lamps else spread("back emissivity")
    back = spread("back emissivity") + spread("back emissivity u") * ensemble.column(Input.BACK)
    back = np.clip(back, 0.05, 0.95)
    log_u = np.sqrt(np.log1p(spread("convection") ** 2))
    factor = np.exp(log_u * ensemble.column(Input.CONVECTION))
    closed = _closed(plan, back, factor)
    start = air if plan.panel_C is None else np.full_like(air, plan.panel_C)
    return PanelSetup(
        spots_mm=np.array(plan.spots_mm),
        air_C=air,
        surroundings_C=air,
        start_C=start,
        heat_capacity=plan.heat_capacity,
        emissivity=front + (back if closed is None else 0.0 * back),
        convection=_convection(plan, closed=closed is not None),
        convection_factor=factor,
        lamps=tuple(lamp_setup(lamp, ensemble) for lamp in plan.lamps),
        until_min=_until(plan),
        plate=plan.plate,
        back=closed,
    )
