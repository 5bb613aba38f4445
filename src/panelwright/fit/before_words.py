"""What to read before cutting, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.fit.at_hand import tool_words
from panelwright.fit.next_answer import BeforeReading
from panelwright.fit.next_words import what_words
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.candidate import What
    from panelwright.fit.next_answer import BeforeCut

ALONG = ("place fore and aft", "place to the side", "height")


def reading_before(
    what: What, repair: Repair, losses: tuple[tuple[str, int | None], ...]
) -> BeforeReading:
    """A reading to take before cutting.

    Parameters
    ----------
    what : What
    repair : Repair
    losses : tuple of (str, int or None)
        Points that cannot be judged without it, and the axis that suffers most; None where the
        point has no target position then.

    Returns
    -------
    BeforeReading
    """
    is_span = what.kind == "span"
    return BeforeReading(
        what_words(what, repair),
        what.tool,
        what.minutes,
        _loses(what, losses),
        tuple(point for point, _ in losses),
        what.names[0] if is_span else None,
        what.names[1] if is_span else None,
        None if is_span else what.names[0],
        what.length_mm,
    )


def _loses(what: What, losses: tuple[tuple[str, int | None], ...]) -> str:
    named = " to ".join(what.names)
    by_axis = [(ALONG[axis], [point for point, at in losses if at == axis]) for axis in range(3)]
    said = [f"the {along} of {joined(points)}" for along, points in by_axis if points]
    lost = [point for point, at in losses if at is None]
    tails = [f"{joined(said)} cannot be judged"] if said else []
    if lost:
        tails.append(f"nobody knows where {joined(lost)} {'was' if len(lost) == 1 else 'were'}")
    return f"without {named}, {' and '.join(tails)}" if tails else ""


def whole_words(
    labels: tuple[str, ...], readings: int, minutes: float, cannot: int, points: int
) -> str:
    """What the readings before cutting amount to.

    Parameters
    ----------
    labels : tuple of str
        What people call the parts.
    readings : int
    minutes : float
        They take [min].
    cannot : int
        Points that cannot be judged whatever is read.
    points : int

    Returns
    -------
    str
    """
    on = f"{joined(list(labels))} {'is' if len(labels) == 1 else 'are'} still on"
    which = "every point" if not cannot else f"{points - cannot} of {points} points"
    if cannot == points:
        return f"While {on}: no reading with these tools lets a point be judged at the dry fit"
    if not readings:
        return (
            f"While {on}: nothing more needs reading for {which} to be judged at the dry fit; "
            "openings and diagonals still tell whether the body is true"
        )
    many = "readings" if readings != 1 else "reading"
    return (
        f"While {on}: {readings} {many}, about {minutes:.0f} min, let {which} be judged at the dry "
        "fit"
    )


def cannot_words(point: str, tools: tuple[str, ...]) -> str:
    """Why a point cannot be judged later, and with what it could.

    Parameters
    ----------
    point : str
    tools : tuple of str
        Tools that are not at hand and would do.

    Returns
    -------
    str
    """
    if tools:
        either = " or a ".join(tool_words(tool) for tool in tools)
        return (
            f"{point}: no readings with these tools can prove it at the dry fit; a {either} would"
        )
    return (
        f"{point}: no readings known here can prove it at the dry fit: declare more points on "
        "sound structure near it, or places where it meets its neighbours"
    )


def lost_words(found: BeforeCut) -> str:
    """What is lost where none of these readings is taken.

    Parameters
    ----------
    found : BeforeCut

    Returns
    -------
    str
        Such as "without them, L5 and L6 cannot be judged at the dry fit"; empty where nothing is.
    """
    points = list(dict.fromkeys(point for one in found.readings for point in one.points))
    if not points:
        return ""
    return f"without them, {joined(points)} cannot be judged at the dry fit"


def before_said(found: BeforeCut | None) -> tuple[str, ...]:
    """What to read before cutting, a sentence each.

    Parameters
    ----------
    found : BeforeCut or None

    Returns
    -------
    tuple of str
    """
    if found is None:
        return ()
    readings = (f"{one.words} ({one.minutes:.1f} min): {one.loses}." for one in found.readings)
    return (f"{found.words}.", *readings, *(f"{one.words}." for one in found.cannot))
