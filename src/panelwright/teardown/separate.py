"""How each joint is opened: steps and cautions by its kind."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.sources import Basis, Mark, Source, merge
from panelwright.tables import load
from panelwright.teardown.answer import Separation, Stretch

if TYPE_CHECKING:
    from panelwright.facts.models.parts import Joint
    from panelwright.facts.repair import Repair

GLUED = frozenset({"bond"})
ASK = "Structural, and no procedure is named: ask the maker how it is opened; nothing is proposed."


class Says(StrEnum):
    """What a row of the table is."""

    HOW = "how"
    CAUTION = "caution"


def _conditions(joint: Joint) -> frozenset[str]:
    """Which rows of the table apply, from what the factory set."""
    found = {"always"}
    old = joint.old
    if joint.kind in GLUED or (
        joint.kind in {"rivet-bond", "hem"} and (old is None or old.adhesive)
    ):
        found.add("adhesive")
    fastener = (old.fastener or "").lower() if old else ""
    if "self" in fastener or "pierc" in fastener:
        found.add("self-piercing")
    elif "blind" in fastener:
        found.add("blind")
    else:
        found.add("unknown-fastener")
    return frozenset(found)


def _rows(kind: str, conditions: frozenset[str], says: Says) -> tuple[str, ...]:
    return tuple(
        str(row["words"])
        for row in load("separating").records()
        if row["kind"] == kind and row["where"] in conditions and row["says"] == says
    )


def _old_fasteners(joint: Joint) -> tuple[str, ...]:
    old = joint.old
    if old is None or not old.count:
        return ()
    size = f", {old.diameter.mm:g} mm" if old.diameter else ""
    fastener = old.fastener or "fastener"
    return (f"{old.count} × {fastener}{size}, to come out.",)


def heat_limits() -> tuple[tuple[str, ...], tuple[Source, ...]]:
    """The temperatures for softening old adhesive in words, with their sources.

    Returns
    -------
    tuple of (tuple of str, tuple of Source)
        Softening, breaking down, and what must stay cooler. [°C]
    """
    table = load("release_heat")
    rows = {str(row["key"]): row for row in table.records()}
    soft, gone, near = rows["softens"], rows["breaks-down"], rows["spare-neighbours"]
    words = (
        f"Cured epoxy gives from about {soft['low_C']:g} to {soft['high_C']:g} °C and breaks down "
        f"from {gone['low_C']:g} °C; keep joints, foam, seals and pads that stay below "
        f"{near['low_C']:g} °C [{near['mark']}]. Measure; the procedure's limits replace these."
    )
    sources = tuple(
        Source(Basis(str(row["basis"])), str(row["source"]), Mark(str(row["mark"])))
        for row in (soft, gone, near)
    )
    return (words,), sources


def _structural(repair: Repair, joint: Joint, frees: tuple[str, ...]) -> tuple[str, ...]:
    """A caution where a structural part is in the joint; of what is bolted on, only itself."""
    names = [
        repair.part_by_id[layer].label
        for layer in (frees if joint.kind == "bolt" else joint.layers)
        if layer in repair.part_by_id and repair.part_by_id[layer].structural
    ]
    if not names:
        return ()
    words = (
        f"Structural ({', '.join(names)}): open it only as the maker's procedure says; "
        "where it is silent, ask the maker."
    )
    return (words,)


def separation(
    repair: Repair, joint: Joint, frees: tuple[str, ...], stretches: tuple[Stretch, ...]
) -> Separation:
    """How one joint is opened.

    Parameters
    ----------
    repair : Repair
        For the layers' names and whether they are structural.
    joint : Joint
        The joint; what the factory set decides between ways of opening.
    frees : tuple of str
        Layers that come off, in order.
    stretches : tuple of Stretch
        What is opened; empty for the whole length. [mm along the joint]

    Returns
    -------
    Separation
        Steps in order, then cautions; common practice, replaced by the procedure's own steps.
    """
    conditions = _conditions(joint)
    structural = _structural(repair, joint, frees)
    sources: tuple[Source, ...] = (load("separating").source,)
    if structural and not repair.procedure.reference:
        how: tuple[str, ...] = (ASK,)
    else:
        how = _rows(joint.kind, conditions, Says.HOW)
        if "adhesive" in conditions:
            words, heat_sources = heat_limits()
            how += words
            sources = merge(sources, heat_sources)
    return Separation(
        joint=joint.id,
        kind=joint.kind,
        stretches=stretches,
        frees=frees,
        stays=tuple(dict.fromkeys(layer for layer in joint.layers if layer not in frees)),
        how=_old_fasteners(joint) + how,
        cautions=structural + _rows(joint.kind, conditions, Says.CAUTION),
        sources=sources,
    )
