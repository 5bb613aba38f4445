"""Will it drum: the question answered for one repair."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.errors import Unanswerable
from panelwright.facts.problem import Problem
from panelwright.quiet.answer import Answer, PadAnswer, PartAnswer
from panelwright.quiet.laying import laying
from panelwright.quiet.outline import Refused, area_mm2, read
from panelwright.quiet.panel import (
    Loss,
    Traced,
    bare_loss,
    metal_of,
    missing_for_loss,
    padded_loss,
    sheet_density_kg_m3,
)
from panelwright.quiet.stock import Wanted, cutting
from panelwright.quiet.verdict import RULE, verdict
from panelwright.sources import merge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panelwright.facts.models.parts import Pad, Part
    from panelwright.facts.repair import Repair

DENSITY_KG_M3 = (800.0, 4000.0)
ROUNDING = 1e-9
LARGE_M2 = 0.25
"""From here a skin is worth asking about: common practice, no source."""


def _names(pads: Sequence[Pad]) -> tuple[str, ...]:
    """A name for each pad, all different: its own, else part and number."""
    names: list[str] = []
    for pad in pads:
        number = sum(1 for other in pads[: len(names)] if other.part == pad.part) + 1
        wished = pad.name or f"{pad.part} pad {number}"
        name, again = wished, 2
        while name in names:
            name, again = f"{wished} ({again})", again + 1
        names.append(name)
    return tuple(names)


def _read(repair: Repair) -> tuple[tuple[Wanted, ...], tuple[Problem, ...]]:
    wanted: list[Wanted] = []
    problems: list[Problem] = []
    for number, (pad, name) in enumerate(zip(repair.pads, _names(repair.pads), strict=True)):
        outline = read([(x.mm, y.mm) for x, y in pad.outline])
        if isinstance(outline, Refused):
            problems.append(Problem(f"pad[{number}].outline", f"{name} {outline.why}"))
        else:
            wanted.append(Wanted(name, pad, outline, area_mm2(outline)))
    return tuple(wanted), tuple(problems)


def _mass(pads: Sequence[Wanted]) -> float | None:
    masses = [
        None if wanted.pad.mass is None else wanted.pad.mass * wanted.area_mm2 / 1e6
        for wanted in pads
    ]
    known = [mass for mass in masses if mass is not None]
    return math.fsum(known) if len(known) == len(masses) else None


def _coverage(repair: Repair, part: str, area_m2: float) -> float | None:
    found = repair.part_by_id.get(part)
    if found is None or found.area is None:
        return None
    share = area_m2 / found.area.m2
    return 1.0 if 1.0 < share <= 1.0 + ROUNDING else share


def _part(repair: Repair, name: str, pads: Sequence[Wanted]) -> PartAnswer:
    part = repair.part_by_id.get(name)
    area_m2 = math.fsum(wanted.area_mm2 for wanted in pads) / 1e6
    coverage = _coverage(repair, name, area_m2)
    traced = [Traced(wanted.pad, wanted.area_mm2 / 1e6) for wanted in pads]
    missing = missing_for_loss(part, coverage, traced)
    loss: Loss | None = None
    if coverage is not None and coverage > 1.0:
        missing.append(
            f"an area that holds its pads: their {area_m2:.3f} m² are more than the panel"
        )
    elif part is not None and coverage is not None:
        loss = padded_loss(part, coverage, traced)
    bare, bare_source = bare_loss()
    return PartAnswer(
        part=name,
        pads=tuple(wanted.name for wanted in pads),
        pad_area_m2=area_m2,
        pad_mass_kg=_mass(pads),
        coverage=coverage,
        loss_bare=bare,
        loss_with=loss.padded if loss else None,
        quieter_dB=loss.quieter if loss else None,
        words=verdict(coverage, loss.quieter if loss else None),
        missing=tuple(missing),
        shares=loss.shares if loss else (),
        sources=merge(loss.sources if loss else (), (bare_source, RULE)),
    )


def _doubts(parts: Sequence[PartAnswer]) -> Iterator[Problem]:
    for part in parts:
        where = f"part {part.part}"
        if part.coverage is None:
            yield Problem(where, 'no coverage: give the panel\'s area, such as area = "1.1 m2"')
        elif part.coverage > 1.0:
            yield Problem(
                where,
                f"its pads cover {part.coverage * 100:.0f} % of it; check outlines (mm) and area",
            )
        if part.loss_with is None:
            yield Problem(where, f"no loss factor with pads; needed: {'; '.join(part.missing)}")


def _odd_stock(pads: Sequence[Wanted]) -> Iterator[Problem]:
    low, high = DENSITY_KG_M3
    for wanted in pads:
        pad = wanted.pad
        if pad.mass is None:
            yield Problem(f"pad {wanted.name}", "no mass: give mass in kg/m² from its data sheet")
        elif pad.thickness is not None:
            density = sheet_density_kg_m3(mass_kg_m2=pad.mass, thickness_mm=pad.thickness.mm)
            if not low <= density <= high:
                yield Problem(
                    f"pad {wanted.name}",
                    f"{pad.mass:g} kg/m² at {pad.thickness.mm:g} mm is {density:.0f} kg/m³; "
                    "bitumen is near 2000 kg/m³, so check mass and thickness",
                )


def _may_drum(part: Part) -> bool:
    """A renewed metal skin large enough to ring."""
    return (
        part.state in {"replace", "section"}
        and part.flex == "skin"
        and metal_of(part.material) is not None
        and part.area is not None
        and part.area.m2 >= LARGE_M2
    )


def _untraced(repair: Repair) -> Iterator[Problem]:
    padded = {pad.part for pad in repair.pads}
    for part in repair.parts:
        if _may_drum(part) and part.id not in padded:
            yield Problem(
                f"part {part.id}",
                f"{part.label} is renewed and no pad is traced for it; look at the old one, and "
                "trace its pads before it goes",
            )


def answer(repair: Repair) -> Answer:
    """Say whether the panels will drum, and how the pads come out of the sheet.

    Parameters
    ----------
    repair : Repair
        Its pads (outline, thickness, mass, modulus, loss factor, sheet) and the parts' areas.

    Returns
    -------
    Answer
        Coverage, loss factors, sheets and placements; what is missing is in `problems`. No
        frequency is given: a flat plate's is not that of a formed panel.

    Raises
    ------
    Unanswerable
        No pad is traced, or no outline can be read.
    """
    if not repair.pads:
        raise Unanswerable(
            (
                "No sound pad is traced.",
                "Give each old pad a [[pad]]: part, and outline in mm traced before it goes.",
            )
        )
    wanted, problems = _read(repair)
    if not wanted:
        raise Unanswerable(tuple(f"{found.where}: {found.what}." for found in problems))
    cut = cutting(wanted)
    names = dict.fromkeys(one.pad.part for one in wanted)
    parts = tuple(
        _part(repair, name, [one for one in wanted if one.pad.part == name]) for name in names
    )
    air = repair.conditions.air
    laid = laying(None if air is None else air.celsius)
    return Answer(
        parts=parts,
        pads=tuple(
            PadAnswer(one.name, one.pad.part, stock, one.area_mm2 / 1e6, _mass([one]), one.outline)
            for one, stock in zip(wanted, cut.stock_of, strict=True)
        ),
        sheets=cut.sheets,
        placements=cut.placements,
        stocks=cut.stocks,
        how=laid.how,
        cautions=laid.cautions,
        problems=(
            *problems,
            *cut.problems,
            *_doubts(parts),
            *_odd_stock(wanted),
            *_untraced(repair),
        ),
        sources=merge(*(part.sources for part in parts), laid.sources),
    )
