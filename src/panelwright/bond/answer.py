"""What the bond room answers: for each joint until when to work and when it holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from panelwright.bond.warmth import HeatMap
from panelwright.facts.problem import Problem
from panelwright.sources import Share, Source


@dataclass(frozen=True)
class Band:
    """A time in minutes: 10, 50 and 90 % of what it may turn out to be."""

    early: float
    likely: float
    late: float


@dataclass(frozen=True)
class Moments:
    """The same three as points in time (UTC)."""

    early: datetime
    likely: datetime
    late: datetime


@dataclass(frozen=True)
class Stay:
    """A stretch of lamp time, in minutes after the joint was closed."""

    lamp: str
    from_min: float
    to_min: float
    recorded: bool
    """True: as the lamp was switched; False: as planned."""


@dataclass(frozen=True)
class CurveRow:
    """One minute after closing: temperatures along the joint and strength of its coldest spot.

    The plain name is the likely value (50 %), ``_10`` and ``_90`` bound it.
    """

    minute: float
    coldest_C: float
    hottest_C: float
    strength_MPa: float | None
    coldest_C_10: float
    coldest_C_90: float
    hottest_C_10: float
    hottest_C_90: float
    strength_MPa_10: float | None
    strength_MPa_90: float | None


@dataclass(frozen=True)
class Law:
    """The adhesive's law of time and temperature as read from its data sheet."""

    adhesive: str
    energy_kJ_mol: float
    energy_u_kJ_mol: float
    assumed: bool
    """True: the sheet gives one temperature only and the common energy stands in."""
    rows: int
    low_C: float
    high_C: float
    words: str


@dataclass(frozen=True)
class Clock:
    """The joint's clock: what was recorded and what follows from it, in UTC."""

    prepared: datetime | None = None
    bead_begun: datetime | None = None
    closed: datetime | None = None
    rivets_set: datetime | None = None
    lamp_on: datetime | None = None
    lamp_off: datetime | None = None
    released: datetime | None = None
    prepared_until: datetime | None = None
    work_until: datetime | None = None
    handle: Moments | None = None
    full: Moments | None = None


@dataclass(frozen=True)
class WorkAt:
    """Work time of a joint's adhesive with bay and panel at one temperature.

    Parameters
    ----------
    celsius : float
        Of both [°C].
    early_min : float
        Early bound, from bead-begun [min].
    """

    celsius: float
    early_min: float


@dataclass(frozen=True)
class ReadingCheck:
    """A temperature reading beside what the answer now expects there."""

    along_mm: float
    minute: float
    value_C: float
    expected_C: float
    u_K: float
    agrees: bool
    words: str = ""
    """What was made of an infrared reading."""
    counts: bool = True
    """False: it says too little to be given weight."""


class Fit(StrEnum):
    """Whether the air and the panel allow bonding."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class LimitCheck:
    """One limit of surface or air beside what was read; texts hold their units."""

    what: str
    value: str
    limit: str
    fit: Fit
    action: str
    """What to do where it is not kept or not known; empty: nothing."""
    source: str


@dataclass(frozen=True)
class DegreeOfCure:
    """What published kinetics say of the coldest spot in the likely case.

    Parameters
    ----------
    at_handle, at_full : float or None
        Degree of cure at the data sheet's likely times [-].
    full_min : float or None
        When `full_degree` is reached, from closed [min]; None: not within the curve.
    """

    at_handle: float | None
    at_full: float | None
    full_min: float | None
    full_degree: float
    source: str


@dataclass(frozen=True)
class JointBond:
    """When one joint holds.

    Parameters
    ----------
    joint, adhesive : str
        Ids; adhesive is None where the file gives none for the joint.
    work_until_min : float or None
        Early bound of the work time, minutes from bead-begun.
    handle_min, full_min : Band or None
        Minutes from closed.
    coldest_mm : float or None
        Place along the joint that cures last.
    hottest_C, hottest_at_min : float or None
        Likely highest temperature of any spot, and when.
    limit_C : float or None
        Temperature that no spot may pass.
    over_limit : bool or None
        True where the likely highest temperature passes `limit_C`.
    p_over_limit : float or None
        Probability that some spot passes `limit_C`.
    """

    joint: str
    adhesive: str | None
    work_until_min: float | None = None
    handle_min: Band | None = None
    full_min: Band | None = None
    coldest_mm: float | None = None
    hottest_C: float | None = None
    hottest_at_min: float | None = None
    limit_C: float | None = None
    over_limit: bool | None = None
    p_over_limit: float | None = None
    work_C: float | None = None
    """The warmer of air and panel: that the work time counts at [°C]."""
    work_at: tuple[WorkAt, ...] = ()
    """Work time at other temperatures of bay and panel, from cold to warm."""
    nozzle_min: float | None = None
    """How long a mix may stand in its nozzle before it is as old as at the end of the work time."""
    half_min: Band | None = None
    """Half of the full lap shear, minutes from closed; None where no strength can be drawn."""
    curve: tuple[CurveRow, ...] = ()
    law: Law | None = None
    stays: tuple[Stay, ...] = ()
    maps: tuple[HeatMap, ...] = ()
    """The panel at the end of each stretch of lamp time."""
    clock: Clock = Clock()
    readings: tuple[ReadingCheck, ...] = ()
    strength_model: str = ""
    shares: tuple[Share, ...] = ()
    """Of the variance of the handling time (of full cure where the sheet gives no handling)."""
    sources: tuple[Source, ...] = ()
    notes: tuple[str, ...] = ()
    """Assumptions and warnings in words."""
    degree: DegreeOfCure | None = None
    """By published kinetics, where the file gives them."""
    limits: tuple[LimitCheck, ...] = ()
    """Of its surface and its adhesive before the bead."""


@dataclass(frozen=True)
class Surface:
    """Whether a prepared surface may be bonded in this air."""

    air_C: float | None
    humidity_percent: float | None
    dew_point_C: float | None
    panel_at_least_C: float | None
    """Dew point plus margin: below it nothing is bonded."""
    bond: Fit
    prepared_hours: float
    """How long a prepared surface may wait."""
    words: str
    sources: tuple[Source, ...]
    limits: tuple[LimitCheck, ...] = ()
    """Dew point and humidity, each with its source."""


@dataclass(frozen=True)
class BondAnswer:
    """The bond room's answer for a repair."""

    joints: tuple[JointBond, ...]
    surface: Surface
    advice: tuple[str, ...]
    problems: tuple[Problem, ...]
    zone: str = "UTC"
    """IANA zone in which the shop reads its clock."""
