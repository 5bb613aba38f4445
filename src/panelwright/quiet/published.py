"""The quiet answer as other programs read it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from panelwright.sources import largest, marks

if TYPE_CHECKING:
    from panelwright.quiet.answer import Answer, Band, PartAnswer


def _likely(band: Band | None) -> float | None:
    return None if band is None else band.likely


def _band(band: Band | None) -> list[float] | None:
    return None if band is None else [band.low, band.high]


def _part(part: PartAnswer) -> dict[str, object]:
    return {
        "coverage": part.coverage,
        "loss_bare": _likely(part.loss_bare),
        "loss_bare_band": _band(part.loss_bare),
        "loss_with": _likely(part.loss_with),
        "loss_with_band": _band(part.loss_with),
        "quieter_dB": _likely(part.quieter_dB),
        "quieter_dB_band": _band(part.quieter_dB),
        "pads": list(part.pads),
        "pad_area_m2": part.pad_area_m2,
        "pad_mass_kg": part.pad_mass_kg,
        "words": part.words,
        "missing": list(part.missing),
        "spread_from": [{"what": name, "share": share} for name, share in largest(part.shares)],
        "marks": list(marks(part.sources)),
        "sources": [str(source) for source in part.sources],
    }


def as_json(answer: Answer) -> dict[str, object]:
    """Give the answer with the keys of the repair file's page and some more.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    dict
        `parts` by id, `sheets`, `placements`, and beside them `stocks`, `pads`, `how`,
        `cautions`, `problems`, `sources`.
    """
    return {
        "parts": {part.part: _part(part) for part in answer.parts},
        "sheets": answer.sheets,
        "placements": [
            {
                "sheet": put.sheet,
                "pad": put.pad,
                "x_mm": put.x_mm,
                "y_mm": put.y_mm,
                "turned": put.turned,
                "stock": put.stock,
                "outline_mm": [list(corner) for corner in put.outline_mm],
            }
            for put in answer.placements
        ],
        "stocks": [
            {
                **asdict(stock),
                "sheet_mm": None if stock.sheet_mm is None else list(stock.sheet_mm),
                "pads": list(stock.pads),
            }
            for stock in answer.stocks
        ],
        "pads": [
            {**asdict(pad), "outline_mm": [list(corner) for corner in pad.outline_mm]}
            for pad in answer.pads
        ],
        "how": list(answer.how),
        "cautions": list(answer.cautions),
        "problems": [{"where": problem.where, "what": problem.what} for problem in answer.problems],
        "sources": [str(source) for source in answer.sources],
    }
