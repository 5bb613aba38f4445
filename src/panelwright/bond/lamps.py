"""Lamps before a joint: what is known of each, what is assumed, and what cannot be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.beam import lobe_of
from panelwright.bond.ensemble import Ensemble, Input
from panelwright.bond.panel import LampSetup
from panelwright.facts.problem import Problem
from panelwright.tables import load

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.answer import Stay
    from panelwright.facts.models.bonding import Heating, Lamp
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

LONGEST_STAY_MIN = 10_000.0
"""A week of lamp; a longer stay is a slip of the pen."""


@dataclass(frozen=True)
class LampPlan:
    """One lamp before the joint with what is known of it.

    Parameters
    ----------
    radiant_W, output_u : float
        Power radiated [W] and its relative standard uncertainty.
    distance_mm, distance_u_mm : float
        Aperture to panel [mm].
    size_mm, centre_mm : tuple of float
        Aperture, and its centre along and across the joint [mm].
    absorptivity : tuple of float
        5, 50 and 95 % of what it may be [-].
    emissivity : float
        Of the front in the long wave [-].
    stays : tuple of Stay
    surface : str
        That it shines on, a row of ``lamp_surfaces``.
    lobe : float
        Exponent of its beam; 1: evenly bright and diffuse [-].
    """

    lamp: str
    radiant_W: float
    output_u: float
    distance_mm: float
    distance_u_mm: float
    size_mm: tuple[float, float]
    centre_mm: tuple[float, float]
    absorptivity: tuple[float, float, float]
    emissivity: float
    stays: tuple[Stay, ...]
    surface: str = "unknown"
    lobe: float = 1.0


def spread(name: str) -> float:
    """One value of the table ``bond_input_spread``.

    Parameters
    ----------
    name : str
        Row of the table.

    Returns
    -------
    float
        In the row's unit.
    """
    table = load("bond_input_spread")
    names = [row["input"] for row in table.records()]
    return table.number(names.index(name), "value")


def of_surface(name: str) -> tuple[tuple[float, float, float], float]:
    """What a surface takes up of a lamp, and gives off in the long wave.

    Parameters
    ----------
    name : str
        Row of the table ``lamp_surfaces``.

    Returns
    -------
    tuple of float
        5, 50 and 95 % of its absorptivity [-].
    float
        Emissivity [-].
    """
    table = load("lamp_surfaces")
    row = [r["surface"] for r in table.records()].index(name)
    low, likely, high = (
        table.number(row, f"absorptivity{which}") for which in ("_low", "", "_high")
    )
    return (low, likely, high), table.number(row, "emissivity")


def _absorptivity(heating: Heating) -> tuple[tuple[float, float, float], float, list[str]]:
    """5, 50, 95 % of the absorptivity, the emissivity, and what was assumed."""
    three, emissivity = of_surface(heating.surface or "unknown")
    if heating.absorptivity is not None:
        u = 1.645 * spread("absorptivity given")
        likely = heating.absorptivity
        return (likely - u, likely, likely + u), emissivity, []
    if heating.surface is not None:
        return three, emissivity, []
    note = "surface before the lamp not given: the band is wide. Say bare, oxidised, primed"
    return three, emissivity, [f"{note} or painted."]


def _output(lamp: Lamp | None) -> tuple[float, float, tuple[float, float], list[str]]:
    """Radiant power, its relative uncertainty, aperture, and what was assumed."""
    table = load("lamp_defaults")
    given, left_out = 0, 1
    power = lamp.power.watts if lamp and lamp.power else table.number(left_out, "power")
    radiant = lamp.radiant if lamp and lamp.radiant else table.number(left_out, "radiant")
    size = (
        (lamp.size[0].mm, lamp.size[1].mm)
        if lamp and lamp.size
        else (table.number(left_out, "along"), table.number(left_out, "across"))
    )
    missing = [
        word
        for word, value in (
            ("power", lamp and lamp.power),
            ("radiant", lamp and lamp.radiant),
            ("size", lamp and lamp.size),
        )
        if not value
    ]
    power_u = table.number(left_out if "power" in missing else given, "power_u")
    radiant_u = table.number(left_out if "radiant" in missing else given, "radiant_u")
    u = float(np.hypot(np.hypot(power_u, radiant_u), spread("aperture")))
    note = (
        f"lamp {lamp.id if lamp else ''}: {', '.join(missing)} assumed (common practice, no "
        f"source); a temperature reading on the joint narrows the band."
    )
    return power * radiant, u, size, [note] if missing else []


def _middle(joint: Joint) -> float:
    return joint.length.mm / 2 if joint.length else 0.0


def lamp_plan(
    repair: Repair, joint: Joint, heating: Heating, stays: tuple[Stay, ...]
) -> tuple[LampPlan, list[str]]:
    """One heating as the panel model sees it, and what was assumed for it.

    Parameters
    ----------
    repair : Repair
        For its lamps.
    joint : Joint
        For its middle.
    heating : Heating
        Where the lamp stands.
    stays : tuple of Stay
        When it is on.

    Returns
    -------
    LampPlan
    list of str
        What was assumed.
    """
    lamp = next((one for one in repair.lamps if one.id == heating.lamp), None)
    radiant_W, output_u, size_mm, notes = _output(lamp)
    absorptivity, emissivity, more = _absorptivity(heating)
    centre = (heating.centre[0].mm, heating.centre[1].mm) if heating.centre else None
    distance = heating.distance.mm
    plan = LampPlan(
        lamp=heating.lamp,
        radiant_W=radiant_W,
        output_u=output_u,
        distance_mm=distance,
        distance_u_mm=max(spread("distance least"), spread("distance") * distance),
        size_mm=size_mm,
        centre_mm=centre or (_middle(joint), 0.0),
        absorptivity=absorptivity,
        emissivity=emissivity,
        stays=stays,
        surface=heating.surface or "unknown",
        lobe=lobe_of(lamp.half_angle) if lamp and lamp.half_angle else 1.0,
    )
    return plan, notes + more


def planned_stays(
    number: int, heating: Heating
) -> tuple[tuple[tuple[float, float], ...], tuple[Problem, ...]]:
    """Stays of a heating in minutes, and those that cannot be.

    Parameters
    ----------
    number : int
        Place of the heating in the file.
    heating : Heating
        With its stays.

    Returns
    -------
    tuple of (float, float)
        On and off after closing [min].
    tuple of Problem
    """
    good, problems = [], []
    for place, stay in enumerate(heating.stays):
        start, end = stay.from_.minutes, stay.to.minutes
        where = f"heating[{number}].stays[{place}]"
        if not start < end:
            problems.append(
                Problem(where, f"from {start:g} to {end:g} min is no stretch of time; left out")
            )
        elif end > LONGEST_STAY_MIN:
            problems.append(Problem(where, f"{end:g} min under a lamp is beyond a week; left out"))
        else:
            good.append((start, end))
    return tuple(good), tuple(problems)


def heating_problem(number: int, heating: Heating) -> Problem | None:
    """Why a heating cannot be computed, or None.

    Parameters
    ----------
    number : int
        Place of the heating in the file.
    heating : Heating
        With its distance.

    Returns
    -------
    Problem or None
    """
    if heating.distance.mm <= 0.0:
        return Problem(
            f"heating[{number}].distance",
            f"{heating.distance.typed!r}: a lamp stands before the panel, more than 0 mm away; "
            f"the joint is answered without this lamp",
        )
    return None


def _two_piece(
    normal: NDArray[np.float64], three: tuple[float, float, float]
) -> NDArray[np.float64]:
    """Values with 5, 50 and 95 % as given, each half normal, kept between 0.02 and 0.98."""
    low, likely, high = three
    width = np.where(normal > 0.0, high - likely, likely - low) / 1.645
    return np.clip(likely + width * normal, 0.02, 0.98)


def lamp_setup(lamp: LampPlan, ensemble: Ensemble) -> LampSetup:
    """One lamp for every member of an ensemble.

    Parameters
    ----------
    lamp : LampPlan
        What is known of it.
    ensemble : Ensemble
        m members.

    Returns
    -------
    LampSetup
    """
    log_u = np.sqrt(np.log1p(lamp.output_u**2))
    distance = lamp.distance_mm + lamp.distance_u_mm * ensemble.column(Input.DISTANCE)
    return LampSetup(
        radiant_W=lamp.radiant_W * np.exp(log_u * ensemble.column(Input.OUTPUT)),
        distance_mm=np.maximum(distance, 0.1 * lamp.distance_mm),
        size_mm=lamp.size_mm,
        centre_mm=lamp.centre_mm,
        absorptivity=_two_piece(ensemble.column(Input.ABSORPTIVITY), lamp.absorptivity),
        stays=tuple((stay.from_min, stay.to_min) for stay in lamp.stays),
        lobe=lamp.lobe,
    )
