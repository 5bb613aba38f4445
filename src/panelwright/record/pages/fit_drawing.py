"""The three-view drawing of one part, from the fit's answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.record.blocks import Figure, Said
from panelwright.record.displacement import covariance_at, homes
from panelwright.record.spots import Kind, Push, Spot
from panelwright.record.three_view import draw

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.answer import PartFit, Vector
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job

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


def drawing(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    """The drawing; nothing where no point of the part has a target position."""
    spots = _spots(job, fit, part)
    if not any(spot.kind is Kind.PART for spot in spots):
        return ()
    pushes = tuple(
        Push(letter, move.xyz, move.along, move.by_mm)
        for letter, move in zip(LETTERS, part.moves, strict=False)
    )
    drawing = draw(spots, pushes, width_mm=PAPER_WIDTH_MM, height_mm=PAPER_HEIGHT_MM)
    alt = f"{job.part(part.id)}: side, rear and top view of its points"
    return tuple(
        Figure(band.svg, Said(""), drawing.width_mm, band.height_mm, alt) for band in drawing.bands
    )
