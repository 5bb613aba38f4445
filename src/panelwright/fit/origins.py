"""On whose word the numbers of this answer stand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.fit.numbering import SLOPE_U
from panelwright.fit.readings import CLEARANCE_MM, SEATED_U_MM
from panelwright.fit.sketch import Kind
from panelwright.quantities import Units, in_units
from panelwright.sources import Basis, Mark, Source, merge

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from panelwright.fit.network import Network

METHOD = (
    Source(Basis.STANDARD, "JCGM 100:2008, propagation of uncertainty", Mark.MEMORY),
    Source(Basis.STANDARD, "JCGM 106:2012, probability of conformity", Mark.MEMORY),
    Source(
        Basis.PUBLISHED,
        "W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968: 0.1 % test of each "
        "reading",
        Mark.MEMORY,
    ),
)


def sources_of(network: Network) -> tuple[Source, ...]:
    """Everything that the network's numbers were taken from, each once.

    Parameters
    ----------
    network : Network

    Returns
    -------
    tuple of Source
    """
    return merge(METHOD, _tools(network), _assumed(network))


def _tools(network: Network) -> Iterator[Source]:
    for sketch in network.sketches:
        if sketch.spread.tool is not None:
            yield from sketch.spread.tool.sources
        for correction in sketch.corrections:
            yield from correction.sources


def _assumed(network: Network) -> Iterator[Source]:
    repair = network.repair
    components = {sketch.component for sketch in network.sketches}
    twins = any(home.mirror[1] < 0.0 for home in network.homes.values())
    if twins or any(sketch.kind is Kind.PAIR for sketch in network.sketches):
        stated = "u" in repair.symmetry.model_fields_set
        basis = Basis.SHOP if stated else Basis.PRACTICE
        yield Source(basis, f"symmetry of the two sides: u {repair.symmetry.u.mm:g} mm")
    for part in repair.parts:
        if part.spring is not None and any(pose.spring_u_mm > 0.0 for pose in network.poses):
            yield Source(Basis.SHOP, f"twist and bow of {part.label}: u {part.spring.mm:g} mm")
    if any(sketch.levelled is not None for sketch in network.sketches):
        yield Source(Basis.PRACTICE, f"the floor of a bay slopes by u {SLOPE_U:g}")
    if "lift" in components:
        yield Source(Basis.PRACTICE, f"a seated flange lies within u {SEATED_U_MM:g} mm")
    if components & {"along", "across"} and any(p.clearance is None for p in repair.locators):
        yield Source(Basis.PRACTICE, f"play of a pin in its hole: {CLEARANCE_MM:g} mm")


SAID_HERE = frozenset({Basis.PRACTICE, Basis.SHOP})
"""Bases whose words this program makes; a standard's or a file's own words stay as they are."""


def sources_in(sources: Iterable[Source], units: Units) -> tuple[Source, ...]:
    """Sources with their lengths in the units that somebody reads.

    Parameters
    ----------
    sources : iterable of Source
    units : Units
        Of the page.

    Returns
    -------
    tuple of Source
        What a standard, a maker or the file says of a tool stays as it is there.
    """
    return tuple(
        replace(one, text=in_units(one.text, units))
        if one.basis in SAID_HERE and not one.text.startswith("tool ")
        else one
        for one in sources
    )
