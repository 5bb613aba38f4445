"""Rivets to choose from: those of the repair file, and the sizes of ISO 15981."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from panelwright.joints import references, settings
from panelwright.joints.answer import Rivet
from panelwright.sources import Basis, Mark, Source
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.facts.models.parts import Rivet as RivetFact

_SIZE_IN_WORDS = re.compile(r"(?<![\d.])(\d{1,2}(?:\.\d+)?)\s*(?:mm)?\s*[x×]\s*(\d{1,2}(?:\.\d+)?)")
SMALLEST_MM, LARGEST_MM = 2.4, 6.4
"""Ends of the series of blind rivets (DIN 7337, ISO 15981)."""


@cache
def _sizes() -> dict[float, tuple[float, float, float]]:
    """Head diameter and hole from–to by nominal diameter [mm]."""
    table = load("blind_rivet_size")
    columns = ("diameter_mm", "head_mm", "hole_min_mm", "hole_max_mm")
    rows = [[table.number(row, name) for name in columns] for row in range(len(table.rows))]
    return {row[0]: (row[1], row[2], row[3]) for row in rows}


def head_and_hole(diameter_mm: float) -> tuple[float, float, float, Source]:
    """Head diameter and drilled hole from–to for a rivet body.

    Parameters
    ----------
    diameter_mm : float
        Nominal body diameter, > 0 [mm].

    Returns
    -------
    tuple of (float, float, float, Source)
        Head diameter, least and largest hole [mm]; by the table, or by the trade's rule (head 2 d,
        hole d + 0.1 to 0.2 mm) for a diameter that is not in the series.
    """
    if diameter_mm in _sizes():
        return *_sizes()[diameter_mm], load("blind_rivet_size").source
    hole = diameter_mm + settings.HOLE_OVER_DIAMETER_MM
    head = settings.HEAD_PER_DIAMETER * diameter_mm
    return head, hole, hole + settings.HOLE_SPREAD_MM, references.HEAD_DIAMETER


@cache
def rivets_iso15981() -> tuple[Rivet, ...]:
    """Every size of the grip table as a rivet that can be proposed, shortest first by diameter.

    Returns
    -------
    tuple of Rivet
        Without declared strength: the table gives none.
    """
    table = load("blind_rivet_grip_iso15981")
    rivets = []
    for row in range(len(table.rows)):
        diameter, length = table.number(row, "diameter_mm"), table.number(row, "length_mm")
        head, hole_min, hole_max, size = head_and_hole(diameter)
        name = f"ISO 15981 {diameter:.1f} × {length:g}"
        rivets.append(
            Rivet(
                id=name,
                name=f"open end blind rivet {name}, AlA/AlA, protruding head",
                diameter_mm=diameter,
                length_mm=length,
                grip_min_mm=table.number(row, "grip_min_mm"),
                grip_max_mm=table.number(row, "grip_max_mm"),
                head_mm=head,
                hole_mm=hole_min,
                hole_max_mm=hole_max,
                shear_kN=None,
                tension_kN=None,
                material="AlA/AlA",
                kind="open end blind rivet",
                sources=(table.source, size),
            )
        )
    return tuple(rivets)


def rivet_of_fact(fact: RivetFact) -> Rivet:
    """A rivet that the repair file declares; head and hole by the series where it has none.

    Parameters
    ----------
    fact : Rivet
        Entry of the repair file.

    Returns
    -------
    Rivet
    """
    diameter = fact.diameter.mm
    head, hole_min, hole_max, size = head_and_hole(diameter)
    declared = Source(Basis.DATA_SHEET, f"[[rivet]] {fact.id}: {fact.source or 'no source named'}")
    complete = fact.head_diameter is not None and fact.hole is not None
    grip = (fact.grip[0].mm, fact.grip[1].mm) if fact.grip else (None, None)
    return Rivet(
        id=fact.id,
        name=fact.name or fact.id,
        diameter_mm=diameter,
        length_mm=fact.length.mm if fact.length else None,
        grip_min_mm=grip[0],
        grip_max_mm=grip[1],
        head_mm=fact.head_diameter.mm if fact.head_diameter else head,
        hole_mm=fact.hole.mm if fact.hole else hole_min,
        hole_max_mm=fact.hole.mm if fact.hole else hole_max,
        shear_kN=fact.shear.newtons / 1000.0 if fact.shear else None,
        tension_kN=fact.tension.newtons / 1000.0 if fact.tension else None,
        material=fact.material or "",
        kind=fact.kind or "",
        sources=(declared,) if complete else (declared, size),
    )


def rivet_in_words(words: str, procedure: Source) -> Rivet:
    """A rivet that the procedure names and the file does not declare; its size from "4.8 × 10".

    Parameters
    ----------
    words : str
        As the procedure says it.
    procedure : Source
        The procedure.

    Returns
    -------
    Rivet
        Without diameter where the words give none of the series, 2.4 to 6.4 mm.
    """
    size = _SIZE_IN_WORDS.search(words)
    diameter = float(size[1]) if size else None
    if diameter is None or not SMALLEST_MM <= diameter <= LARGEST_MM or size is None:
        nothing = (None,) * 9
        return Rivet(words, words, *nothing, "", "", (procedure,))
    head, hole_min, hole_max, series = head_and_hole(diameter)
    read = Source(Basis.PROCEDURE, f"diameter and length read from the name {words!r}", Mark.SEEN)
    return Rivet(
        words, words, diameter, float(size[2]), None, None, head, hole_min, hole_max, None, None,
        "", words, (procedure, read, series),
    )  # fmt: skip
