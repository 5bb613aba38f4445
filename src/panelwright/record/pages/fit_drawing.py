"""The three-view drawing of one part, from the fit's answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.record.blocks import Figure, Said
from panelwright.record.displacement import covariance_at, homes
from panelwright.record.spots import EXAGGERATIONS, Kind, Push, Spot, exaggeration
from panelwright.record.three_view import draw

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import PartFit
    from panelwright.fit.vector import Vector
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.record.three_view import Drawing

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
REACH_MM, NEAR = 400.0, 0.5
"""How far ahead and behind the part points of the body are drawn: length, share of the part's."""
PAPER_WIDTH_MM = 97.0
PAPER_HEIGHT_MM = 108.0
"""The tables stand beside it."""


def _tolerances(job: Job) -> Mapping[str, float | tuple[float | None, float | None, float | None]]:
    found: dict[str, float | tuple[float | None, float | None, float | None]] = {}
    for point in job.repair.points:
        if isinstance(point.tolerance, AxisTolerance):
            x, y, z = (
                None if t is None else t.mm
                for t in (point.tolerance.x, point.tolerance.y, point.tolerance.z)
            )
            found[point.id] = (x, y, z)
        elif point.tolerance is not None:
            found[point.id] = point.tolerance.mm
    return found


def _spots(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Spot, ...]:
    places = {p.id: p.xyz_mm for p in fit.points if p.xyz_mm is not None}
    home = homes(part, places)
    tolerances = _tolerances(job)
    own = tuple(
        Spot(
            point.id,
            home[point.id],
            Kind.PART,
            point.off_mm,
            covariance_at(part, home, point.id),
            tolerances.get(point.id),
            point.verdict.value,
        )
        for point in part.points
        if point.id in home
    )
    return own + _near(job, places, own)


def _near(job: Job, places: Mapping[str, Vector], own: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """Points of the body beside the part or across from it; far ones would shrink the drawing."""
    along = [spot.xyz_mm[0] for spot in own]
    if not along:
        return ()
    reach = max(REACH_MM, NEAR * (max(along) - min(along)))
    names = {spot.label for spot in own}
    return tuple(
        Spot(point.id, places[point.id])
        for point in job.repair.points
        if point.on == "body"
        and point.id in places
        and point.id not in names
        and min(along) - reach <= places[point.id][0] <= max(along) + reach
    )


def drawn(
    job: Job,
    fit: FitAnswer,
    part: PartFit,
    room_mm: tuple[float, float],
    beside: Sequence[PartFit] = (),
) -> Drawing | None:
    """Draw a part in one dry fit; None where no point of it has a target position.

    Parameters
    ----------
    job : Job
    fit : FitAnswer
    part : PartFit
    room_mm : tuple
        Width and height on paper. [mm]
    beside : sequence of PartFit
        Other dry fits that are drawn beside it with the same exaggeration.
    """
    spots, pushes = _spots(job, fit, part), _pushes(part)
    if not any(spot.kind is Kind.PART for spot in spots):
        return None
    most = min(
        exaggeration(spots, pushes),
        *(exaggeration(_spots(job, fit, other), _pushes(other)) for other in beside),
        EXAGGERATIONS[0],
    )
    return draw(
        spots, pushes, width_mm=room_mm[0], height_mm=room_mm[1], most=most, units=job.units
    )


def _pushes(part: PartFit) -> tuple[Push, ...]:
    return tuple(
        Push(letter, move.xyz, move.along, move.by_mm)
        for letter, move in zip(LETTERS, part.moves, strict=False)
    )


def drawing(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    """The drawing; nothing where no point of the part has a target position."""
    found = drawn(job, fit, part, (PAPER_WIDTH_MM, PAPER_HEIGHT_MM))
    if found is None:
        return ()
    alt = f"{job.part(part.id)}: side, rear and top view of its points"
    return tuple(
        Figure(band.svg, Said(""), found.width_mm, band.height_mm, alt) for band in found.bands
    )
