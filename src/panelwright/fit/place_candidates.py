"""Readings of places and single points that could be taken: gaps, flanges, pins, heights."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from panelwright.facts.models.readings import (
    ContactReading,
    HeightReading,
    LocatorReading,
    PlaceReading,
    StationReading,
)
from panelwright.facts.repair import BODY
from panelwright.fit.candidate import Block, What
from panelwright.fit.places import neighbour
from panelwright.fit.readings import Reader
from panelwright.fit.settings import ALWAYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.readings import Reading
    from panelwright.fit.at_hand import AtHand
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Sketch
    from panelwright.fit.tool_columns import ToolColumns

    Floats = NDArray[np.float64]


def place_candidates(
    network: Network,
    placed: Placed,
    parts: set[str],
    hand: AtHand,
    columns: ToolColumns,
    *,
    floats: bool,
) -> Iterator[Block]:
    """Gaps and flushes, flanges, pins, heights and coordinates that were not read yet.

    Parameters
    ----------
    network, placed
        The network and its nodes.
    parts : set of str
    hand : AtHand
    columns : ToolColumns
    floats : bool
        Whether inner constraints hold the network: heights and coordinates are left out then.

    Yields
    ------
    Block
        One for each candidate.
    """
    asked = [
        *_of_places(network, parts, hand),
        *(() if floats else _of_points(network, parts, hand)),
    ]
    if not asked:
        return
    trial = replace(network.repair, readings=tuple(reading for _, reading in asked))
    sketches, _ = Reader(trial, network.settings, network.tools).sketches()
    by_index: dict[int, list[Sketch]] = {}
    for sketch in sketches:
        by_index.setdefault(sketch.index, []).append(sketch)
    for index, (what, _) in enumerate(asked):
        own = by_index.get(index, [])
        if own and all(node in network.number for sketch in own for node in sketch.nodes):
            rows = [_row(sketch, network, placed, columns) for sketch in own]
            wide = np.array([columns.widened(row) for row in rows])
            u_mm = np.array([sketch.spread.u_mm for sketch in own])
            yield Block((what,), wide, u_mm**2, one_each=False)


def _of_places(network: Network, parts: set[str], hand: AtHand) -> Iterator[tuple[What, Reading]]:
    """Gaps, flanges and pins of the parts that were not read in this dry fit."""
    repair = network.repair
    read = _read_now(network)
    for tool in hand.of_kind("gauge")[:1] + hand.of_kind("caliper")[:1]:
        for station in repair.stations:
            seen = read.get(f"station {station.id}", np.inf)
            if station.part in parts and tool.u_mm < seen:
                said: dict[str, Any] = {"station": station.id, "with": tool.id}
                said |= {
                    key: 0.0
                    for key, check, towards in (
                        ("gap", station.gap, station.gap_towards),
                        ("flush", station.flush, station.flush_towards),
                    )
                    if check is not None and towards is not None
                }
                touched = (station.part, neighbour(station))
                what = What("station", (station.id,), tool.id, hand.minutes[tool.id])
                yield what, StationReading.model_validate(_now(network, touched, said))
    for contact in repair.contacts:
        if contact.part in parts and f"contact {contact.id}" not in read:
            said = {"contact": contact.id, "state": "seated"}
            touched = (contact.part, neighbour(contact))
            what = What("contact", (contact.id,), None, hand.minutes["contact"])
            yield what, ContactReading.model_validate(_now(network, touched, said))
    for locator in repair.locators:
        if locator.part in parts and f"locator {locator.id}" not in read:
            said = {"locator": locator.id, "state": "aligned"}
            touched = (locator.part, neighbour(locator))
            what = What("locator", (locator.id,), None, hand.minutes["locator"])
            yield what, LocatorReading.model_validate(_now(network, touched, said))


def _of_points(network: Network, parts: set[str], hand: AtHand) -> Iterator[tuple[What, Reading]]:
    """Heights with a level whose floor was told or as taken before, and coordinates."""
    latest = network.settings.latest_of
    points = [p.id for p in network.repair.points if p.on in parts]
    heights = {
        (reading.point, reading.with_ or "tape")
        for reading in network.repair.readings
        if isinstance(reading, HeightReading)
        and network.settings.of(reading, network.repair.point_by_id[reading.point].on)
        == latest(network.repair.point_by_id[reading.point].on)
    }
    used = {tool for _, tool in heights}
    for tool in hand.tools.values():
        if tool.floor or (tool.id in used and tool.kind != "level"):
            for point in points:
                if (point, tool.id) not in heights:
                    said: dict[str, Any] = {
                        "point": point,
                        "height": 0.0,
                        "with": tool.id,
                    }
                    own = (network.repair.point_by_id[point].on,)
                    what = What("height", (point,), tool.id, hand.minutes[tool.id])
                    yield what, HeightReading.model_validate(_now(network, own, said))
    for tool in hand.of_kind("photo"):
        for point in points:
            said = {"point": point, "xyz": (0.0, 0.0, 0.0), "with": tool.id}
            own = (network.repair.point_by_id[point].on,)
            what = What("place", (point,), tool.id, hand.minutes[tool.id])
            yield what, PlaceReading.model_validate(_now(network, own, said))


def _now(network: Network, touched: tuple[str, ...], said: dict[str, Any]) -> dict[str, Any]:
    """What a reading of the parts as they hang now says besides."""
    settings = [network.settings.latest_of(part) for part in touched]
    setting = max((s for s in settings if s != ALWAYS), default=None)
    return {"setting": setting, **said}


def _read_now(network: Network) -> dict[str, float]:
    """Places that were read in the latest dry fit, with the least u of such a reading [mm]."""
    found: dict[str, float] = {}
    for sketch in network.sketches:
        for node, _ in sketch.projections:
            if node.place and node.setting == network.settings.latest_of(node.owner):
                found[node.id] = min(sketch.spread.u_mm, found.get(node.id, np.inf))
    for reading in network.repair.readings:  # those too that say nothing of where the part is
        if isinstance(reading, ContactReading | LocatorReading) and reading.when == "now":
            kind = "contact" if isinstance(reading, ContactReading) else "locator"
            name = f"{kind} {getattr(reading, kind)}"
            part = network.place_part.get(name, BODY)
            if network.settings.of(reading, part) == network.settings.latest_of(part):
                found.setdefault(name, 0.0)
    return found


def _row(sketch: Sketch, network: Network, placed: Placed, columns: ToolColumns) -> Floats:
    """Derivative of an equation without distances, what its tool shares counted, shape (v,)."""
    tool = sketch.spread.tool
    if sketch.levelled is not None and tool is not None:
        return _levelled(network.number[sketch.levelled], placed, columns, columns.level_of(tool))
    row = np.zeros(network.geometry.size)
    true = sketch.constant_mm
    for node, along in sketch.projections:
        number = network.number[node]
        row += np.array(along) @ placed.follow[number]
        true += float(np.array(along) @ placed.xyz[number])
    return _shared(row, true, sketch, columns)


def _shared(row: Floats, true: float, sketch: Sketch, columns: ToolColumns) -> Floats:
    tool = sketch.spread.tool
    scale, offset = columns.scale_of(tool), columns.offset_of(tool)
    factor = 1.0 + sketch.spread.scale_by * (columns.factor(tool) - 1.0)
    read = columns.widened(row) * factor
    if scale is not None:
        read[scale] += sketch.spread.scale_by * true
    if offset is not None:
        read[offset] += sketch.spread.offset_by
    return read


def _levelled(number: int, placed: Placed, columns: ToolColumns, level: int) -> Floats:
    """Derivative of a height along the upright of a level on a sloping floor, shape (v,)."""
    known = level < columns.size
    slopes = columns.x[level + 1 : level + 3] if known else np.zeros(2)
    upright = np.array([*slopes, 1.0])
    size = float(np.sqrt(upright @ upright))
    at = placed.xyz[number]
    along = float(upright @ at) / size
    read = columns.widened(upright / size @ placed.follow[number])
    read[level] += 1.0
    read[level + 1 : level + 3] += (at[:2] - along / size * slopes) / size
    return read
