"""Which reading to take next: the one that takes away most of the doubt.

The doubt is the sum, over all places without a verdict, of the variance of their displacement in
units of their tolerance. A reading with derivative a and variance s² lowers it by
‖M Q a‖² / (s² + aᵀ Q a), with Q the covariance of the unknowns and M the places' derivatives: the
A-criterion of optimal design.

References
----------
A. C. Atkinson, A. N. Donev, Optimum Experimental Designs, 1992 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.models.readings import (
    ContactReading,
    LocatorReading,
    StationReading,
)
from panelwright.facts.repair import BODY
from panelwright.fit.answer import NextReading, PartFit, Verdict
from panelwright.fit.places import locator_directions, neighbour
from panelwright.fit.readings import CLEARANCE_MM, SEATED_U_MM
from panelwright.fit.sketch import Node, Vector
from panelwright.fit.stations import displacement_along, place_nodes
from panelwright.fit.verdicts import judged_axes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import AxisTolerance, Contact, Locator, Station
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.verdicts import PartState
    from panelwright.quantities import Length

    Floats = NDArray[np.float64]

MOST = 5
SHORTEST_MM, LONGEST_MM = 50.0, 3000.0
"""Spans that one person takes with a tape. Common practice, no source."""
UNSEEN_U_MM = 50.0
"""How far a motion that nothing holds is taken to reach, so that readings that open it lead."""


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken: one row of derivatives and one variance per equation."""

    reading: NextReading
    rows: Floats
    variances: Floats


def next_readings(
    network: Network,
    adjusted: Adjusted,
    placed: Placed,
    states: tuple[tuple[PartState, PartFit], ...],
) -> tuple[NextReading, ...]:
    """The five readings that take away most of the doubt, best first; none without doubt.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    states : tuple
        Every fitted part with its verdicts.

    Returns
    -------
    tuple of NextReading
        `gain` is the share of the doubt that the reading takes away, 0 to 1.
    """
    doubted = _doubted_rows(network, adjusted, placed, states)
    if not len(doubted):
        return ()
    unsure = {fit.id for _, fit in states if _in_doubt(fit)}
    candidates = list(_candidates(network, placed, unsure))
    gains = _gains(candidates, _with_unseen(adjusted, placed), doubted)
    ranked = sorted(zip(gains, candidates, strict=True), key=lambda item: -item[0])
    return tuple(
        replace(candidate.reading, gain=gain) for gain, candidate in ranked[:MOST] if gain > 0.0
    )


def _in_doubt(fit: PartFit) -> bool:
    verdicts = [point.verdict for point in fit.points]
    verdicts += [station.verdict for station in fit.stations]
    return Verdict.UNDECIDED in verdicts


def _with_unseen(adjusted: Adjusted, placed: Placed) -> Floats:
    """Covariance with every motion that nothing holds let loose by 50 mm at most."""
    covariance = adjusted.covariance
    for motion in adjusted.undetermined.T:
        reach = float(np.abs(placed.follow @ motion).max(initial=0.0))
        if reach > 0.0:
            loose = motion * (UNSEEN_U_MM / reach)
            covariance = covariance + np.outer(loose, loose)
    return covariance


def _gains(candidates: list[Candidate], covariance: Floats, doubted: Floats) -> list[float]:
    """Share of the doubt that each candidate takes away."""
    if not candidates:
        return []
    seen = doubted @ covariance
    doubt = float(np.einsum("ij,ij->", seen, doubted))
    rows = np.concatenate([candidate.rows for candidate in candidates])
    across = rows @ seen.T
    own = rows @ covariance
    gains, first = [], 0
    for candidate in candidates:
        block = slice(first, first + len(candidate.rows))
        first = block.stop
        inner = own[block] @ candidate.rows.T + np.diag(candidate.variances)
        if len(inner) == 1:
            relief = float(across[block][0] @ across[block][0]) / float(inner[0, 0])
        else:
            relief = float(
                np.trace(across[block].T @ np.linalg.pinv(inner, hermitian=True) @ across[block])
            )
        gains.append(min(relief / doubt, 1.0) if doubt > 0.0 else 0.0)
    return gains


def _doubted_rows(
    network: Network,
    adjusted: Adjusted,
    placed: Placed,
    states: tuple[tuple[PartState, PartFit], ...],
) -> Floats:
    """Derivatives of all displacements in doubt, in tolerances, shape (k, u)."""
    rows: list[Floats] = []
    for state, fit in states:
        unknowns = slice(state.posed.pose, state.posed.pose + 6)
        for follow, judged in zip(state.follow, fit.points, strict=False):
            tolerance = network.repair.point_by_id[judged.id].tolerance
            if judged.verdict is Verdict.UNDECIDED:
                for axis, limit_mm in _limits(tolerance):
                    row = np.zeros(len(adjusted.x))
                    row[unknowns] = follow[axis] / limit_mm
                    rows.append(row)
        unsure = {judged.id for judged in fit.stations if judged.verdict is Verdict.UNDECIDED}
        for station in network.repair.stations:
            if station.id in unsure and station.part == fit.id:
                rows.extend(_station_rows(station, network, placed, judged_only=True))
    return np.array(rows)


def _limits(tolerance: Length | AxisTolerance | None) -> tuple[tuple[int, float], ...]:
    """Axes in doubt and their tolerance; all three alike for a distance."""
    if tolerance is None:
        return ()
    axes = judged_axes(tolerance)
    mm = getattr(tolerance, "mm", None)
    return axes if mm is None else ((0, mm), (1, mm), (2, mm))


def _station_rows(
    station: Station, network: Network, placed: Placed, *, judged_only: bool
) -> Iterator[Floats]:
    nodes = place_nodes(network, f"station {station.id}", station.part, neighbour(station))
    for check, towards in (
        (station.gap, station.gap_towards),
        (station.flush, station.flush_towards),
    ):
        if check is None or towards is None:
            continue
        row = displacement_along(network, placed, nodes, towards)[1]
        if not judged_only:
            yield row
        elif check.tolerance is not None:
            yield row / check.tolerance.mm


def _candidates(network: Network, placed: Placed, parts: set[str]) -> Iterator[Candidate]:
    """Everything that could be read of the parts in doubt and was not yet, in this setting."""
    yield from _spans(network, placed, parts)
    latest = network.settings
    read = {
        name
        for reading in network.repair.readings
        if (name := _place_read(reading)) is not None
        and latest.of(reading, _part_of(network, name)) == latest.latest_of(_part_of(network, name))
    }
    tool_u_mm = network.tools["gauge"].u_mm
    for station in network.repair.stations:
        rows = list(_station_rows(station, network, placed, judged_only=False))
        if station.part in parts and f"station {station.id}" not in read and rows:
            words = f"read gap and flush at {station.name or station.id}"
            yield _candidate(NextReading(0.0, words, station=station.id), rows, tool_u_mm)
    for contact in network.repair.contacts:
        if contact.part in parts and f"contact {contact.id}" not in read:
            rows = [_place_row(contact, f"contact {contact.id}", contact.normal, network, placed)]
            words = f"see whether the flange lies on at {contact.name or contact.id}"
            yield _candidate(NextReading(0.0, words, contact=contact.id), rows, SEATED_U_MM)
    for locator in network.repair.locators:
        if locator.part in parts and f"locator {locator.id}" not in read:
            directions = locator_directions(locator)[locator.slot_along is not None :]
            name = f"locator {locator.id}"
            rows = [_place_row(locator, name, way, network, placed) for way in directions]
            play_mm = locator.clearance.mm if locator.clearance is not None else CLEARANCE_MM
            words = f"see whether the pin or hole lines up at {locator.name or locator.id}"
            yield _candidate(
                NextReading(0.0, words, locator=locator.id), rows, play_mm / sqrt(12.0)
            )


def _candidate(reading: NextReading, rows: list[Floats], u_mm: float) -> Candidate:
    return Candidate(reading, np.array(rows), np.full(len(rows), max(u_mm, 1e-3) ** 2))


def _place_row(
    place: Contact | Locator, name: str, towards: Vector, network: Network, placed: Placed
) -> Floats:
    nodes = place_nodes(network, name, place.part, neighbour(place))
    return displacement_along(network, placed, nodes, towards)[1]


def _place_read(reading: object) -> str | None:
    match reading:
        case StationReading():
            return f"station {reading.station}"
        case ContactReading():
            return f"contact {reading.contact}"
        case LocatorReading():
            return f"locator {reading.locator}"
    return None


def _part_of(network: Network, name: str) -> str:
    return network.place_part.get(name, BODY)


def _spans(network: Network, placed: Placed, parts: set[str]) -> Iterator[Candidate]:
    """Spans from points of the parts in doubt to body points, with the tape."""
    tape = network.tools["tape"]
    taken = _taken_spans(network)
    body = [node for node in network.number if node.owner == BODY and not node.place]
    own = [
        node
        for node in network.number
        if node.owner in parts
        and not node.place
        and node.setting == network.settings.latest_of(node.owner)
    ]
    for a in own:
        numbers = [network.number[node] for node in body]
        between = placed.xyz[network.number[a]] - placed.xyz[numbers]
        lengths = np.linalg.norm(between, axis=1)
        for b, number, arm, length in zip(body, numbers, between, lengths.tolist(), strict=True):
            if frozenset((a, b)) in taken or not SHORTEST_MM < length < LONGEST_MM:
                continue
            follow = placed.follow[network.number[a]] - placed.follow[number]
            words = f"measure {a.id} to {b.id} with the tape"
            row = (arm / length) @ follow
            variance = tape.u_mm**2 + tape.offset_u_mm**2 + (tape.scale_u * length) ** 2
            reading = NextReading(0.0, words, a.id, b.id, length_mm=length)
            yield Candidate(reading, row[None, :], np.array([variance]))


def _taken_spans(network: Network) -> set[frozenset[Node]]:
    """Pairs of nodes that were measured, or that no tape can reach."""
    taken = {
        frozenset((a, b))
        for sketch in network.sketches
        for _, a, b in sketch.distances
        if len(sketch.distances) == 1
    }
    blocked = {frozenset((pair.from_, pair.to)) for pair in network.repair.blocked}
    by_id: dict[str, list[Node]] = {}
    for node in network.number:
        if not node.place:
            by_id.setdefault(node.id, []).append(node)
    for pair in blocked:
        one, *other = sorted(pair)
        for a in by_id.get(one, ()):
            taken.update(frozenset((a, b)) for name in other for b in by_id.get(name, ()))
    return taken
