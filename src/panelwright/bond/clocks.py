"""A joint's clock: moments recorded, their order, and lamp time as it was switched."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from panelwright.bond.answer import Band, Clock, Moments, Stay

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.bonding import Event

ORDER = ("prepared", "bead-begun", "closed", "rivets-set", "lamp-on", "lamp-off", "released")
"""Kinds of moment in the order in which they happen."""


@dataclass(frozen=True)
class Recorded:
    """The last moment of each kind on one joint, in UTC, and every lamp switch."""

    moments: tuple[tuple[str, datetime], ...]
    switches: tuple[tuple[datetime, str, str | None], ...]
    """Moment, `lamp-on` or `lamp-off`, and lamp where it was named; in order of time."""

    def at(self, kind: str) -> datetime | None:
        """When it happened last, or None."""
        return dict(self.moments).get(kind)


def recorded(events: Sequence[Event], joint: str) -> Recorded:
    """What was recorded of one joint; differences of UTC know no daylight-saving.

    Parameters
    ----------
    events : sequence of Event
        Of the whole repair.
    joint : str
        Id.

    Returns
    -------
    Recorded
    """
    mine = [(e.at.astimezone(UTC), e) for e in events if e.joint == joint and e.at is not None]
    mine.sort(key=lambda pair: pair[0])
    moments = {event.kind: at for at, event in mine if event.kind in ORDER}
    first_on = next((at for at, event in mine if event.kind == "lamp-on"), None)
    if first_on is not None:
        moments["lamp-on"] = first_on
    switches = tuple(
        (at, event.kind, event.lamp) for at, event in mine if event.kind in ("lamp-on", "lamp-off")
    )
    return Recorded(tuple(moments.items()), switches)


def zone_of(name: str) -> ZoneInfo:
    """The shop's zone; UTC where the name is unknown.

    Parameters
    ----------
    name : str
        IANA name.

    Returns
    -------
    ZoneInfo
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")


def spoken(moment: datetime, zone: ZoneInfo) -> str:
    """A moment as people read it in the shop.

    Parameters
    ----------
    moment : datetime
        With its offset.
    zone : ZoneInfo
        The shop's.

    Returns
    -------
    str
        Date, hours and minutes; the zone's short name where the clock showed them twice.
    """
    local = moment.astimezone(zone)
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return local.strftime("%Y-%m-%d %H:%M %Z" if twice else "%Y-%m-%d %H:%M")


def minutes_between(start: datetime | None, end: datetime | None) -> float | None:
    """Minutes from one moment to another; None where one is missing.

    Parameters
    ----------
    start, end : datetime or None
        Moments with offset.

    Returns
    -------
    float or None
        [min]
    """
    if start is None or end is None:
        return None
    return (end - start).total_seconds() / 60.0


def switched_stays(
    found: Recorded, lamp: str, planned: tuple[tuple[float, float], ...]
) -> tuple[Stay, ...]:
    """Lamp time as it was switched, else as planned.

    A lamp that is still on keeps its planned time from when it was switched on.

    Parameters
    ----------
    found : Recorded
        Moments of the joint.
    lamp : str
        Id.
    planned : tuple of (float, float)
        On and off after closing [min].

    Returns
    -------
    tuple of Stay
        In order of time.
    """
    closed = found.at("closed")
    mine = [(at, kind) for at, kind, named in found.switches if named in (None, lamp)]
    if closed is None or not any(kind == "lamp-on" for _, kind in mine):
        return tuple(Stay(lamp, start, end, recorded=False) for start, end in planned)
    length = sum(end - start for start, end in planned)
    stays, since = [], None
    for at, kind in mine:
        minute = max((at - closed).total_seconds() / 60.0, 0.0)
        if kind == "lamp-on" and since is None:
            since = minute
        elif kind == "lamp-off" and since is not None:
            if minute > since:
                stays.append(Stay(lamp, since, minute, recorded=True))
            since = None
    if since is not None and length > 0.0:
        used = sum(stay.to_min - stay.from_min for stay in stays)
        left = length - used if length > used else length
        stays.append(Stay(lamp, since, since + left, recorded=True))
    return tuple(stays)


def later(moment: datetime | None, minutes: float | None) -> datetime | None:
    """A moment so many minutes on, to the second; None where one of them is missing.

    Parameters
    ----------
    moment : datetime or None
        From which is counted.
    minutes : float or None
        How many [min].

    Returns
    -------
    datetime or None
    """
    if moment is None or minutes is None:
        return None
    try:
        return moment + timedelta(seconds=round(minutes * 60.0))
    except OverflowError:
        return None


def _moments(closed: datetime | None, band: Band | None) -> Moments | None:
    if band is None:
        return None
    early, likely, late = (later(closed, m) for m in (band.early, band.likely, band.late))
    if early is None or likely is None or late is None:
        return None
    return Moments(early, likely, late)


def clock_of(found: Recorded, prepared_hours: float) -> Clock:
    """The clock before anything is known of the cure.

    Parameters
    ----------
    found : Recorded
        Moments of the joint.
    prepared_hours : float
        How long a prepared surface may wait [h].

    Returns
    -------
    Clock
    """
    prepared = found.at("prepared")
    return Clock(
        prepared=prepared,
        bead_begun=found.at("bead-begun"),
        closed=found.at("closed"),
        rivets_set=found.at("rivets-set"),
        lamp_on=found.at("lamp-on"),
        lamp_off=found.at("lamp-off"),
        released=found.at("released"),
        prepared_until=later(prepared, prepared_hours * 60.0),
    )


def run(
    clock: Clock, *, work_min: float | None, handle_min: Band | None, full_min: Band | None
) -> Clock:
    """The clock with what follows from the times of the cure.

    Parameters
    ----------
    clock : Clock
        As recorded.
    work_min : float or None
        From bead-begun [min].
    handle_min, full_min : Band or None
        From closed [min].

    Returns
    -------
    Clock
    """
    return replace(
        clock,
        work_until=later(clock.bead_begun, work_min),
        handle=_moments(clock.closed, handle_min),
        full=_moments(clock.closed, full_min),
    )
