"""The answer as the JSON object that the command prints: the keys of the repair file's page."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.fit.adjuster_answer import Reach
    from panelwright.fit.answer import Answer
    from panelwright.fit.next_answer import BeforeCut, BeforeReading, Decider, NextReading, Together
    from panelwright.fit.part_answer import PartFit
    from panelwright.fit.reading_answer import Correction


def as_json(answer: Answer) -> dict[str, object]:
    """Everything in an answer under its published keys.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    dict
        Lengths in mm, turns in mrad; None where the readings say nothing.
    """
    body = asdict(answer.body)
    body["status"] = answer.body.status.value
    return {
        "points": {
            point.id: {"xyz_mm": point.xyz_mm, "u_mm": point.u_mm} for point in answer.points
        },
        "parts": {part.id: _part(part) for part in answer.parts},
        "adjusters": [asdict(one) for part in answer.parts for one in part.settings],
        "reach": [_reach(reach) for reach in answer.reach],
        "earlier": [{"part": part.id, **_part(part)} for part in answer.earlier],
        "readings": [asdict(row) for row in answer.readings],
        "next": [_next(reading) for reading in answer.next],
        "together": [_together(readings) for readings in answer.together],
        "deciders": [_decider(decider) for decider in answer.deciders],
        "before_cut": _before(answer.before_cut),
        "variance_factor": answer.variance_factor,
        "dof": answer.dof,
        "global_test": asdict(answer.global_test),
        "datum": answer.datum,
        "body": body,
        "status": answer.status.value,
        "iterations": answer.iterations,
        "confidence": answer.confidence,
        "suspects_note": answer.suspects_note,
        "recheck": [asdict(one) for one in answer.recheck],
        "sees": [asdict(row) for row in answer.sees],
        "homes": [asdict(check) for check in answer.homes],
        "two_places": [asdict(both) for both in answer.two_places],
        "weak": [asdict(held) for held in answer.weak],
        "corrections": [_correction(one) for one in answer.corrections],
        "repeats": [asdict(one) for one in answer.repeats],
        "learnt": [{**asdict(one), "proposal": dict(one.proposal)} for one in answer.learnt],
        "problems": [asdict(problem) for problem in answer.problems],
        "sources": [str(source) for source in answer.sources],
    }


def _correction(one: Correction) -> dict[str, object]:
    return {**asdict(one), "sources": [str(source) for source in one.sources]}


def _part(part: PartFit) -> dict[str, object]:
    return {
        "setting": part.setting,
        "shift_mm": part.shift_mm,
        "turn_mrad": part.turn_mrad,
        "covariance": part.covariance,
        "shift_u_mm": part.shift_u_mm,
        "turn_u_mrad": part.turn_u_mrad,
        "verdict": part.verdict,
        "points": {point.id: _without_id(asdict(point)) for point in part.points},
        "stations": {station.id: _without_id(asdict(station)) for station in part.stations},
        "spring": [asdict(spring) for spring in part.spring],
        "unseen": [asdict(unseen) for unseen in part.unseen],
        "moves": [asdict(move) for move in part.moves],
    }


def _reach(reach: Reach) -> dict[str, object]:
    row = asdict(reach)
    row["limited_by"] = [{**asdict(one), "kind": one.kind.value} for one in reach.limited_by]
    return row


def _without_id(row: dict[str, object]) -> dict[str, object]:
    return {
        key: str(value) if key == "verdict" else value for key, value in row.items() if key != "id"
    }


def _next(reading: NextReading) -> dict[str, object]:
    row = asdict(reading)
    row["from"], row["with"] = row.pop("from_"), row.pop("with_")
    row["foretold"] = {one.id: one.u_mm for one in reading.foretold}
    return row


def _together(readings: Together) -> dict[str, object]:
    return {**asdict(readings), "readings": [_next(one) for one in readings.readings]}


def _decider(decider: Decider) -> dict[str, object]:
    row = asdict(decider)
    row["kind"] = decider.kind.value
    row["readings"] = [_next(one) for one in decider.readings]
    return row


def _before(found: BeforeCut | None) -> dict[str, object] | None:
    if found is None:
        return None
    row = asdict(found)
    row["readings"] = [_before_reading(one) for one in found.readings]
    row["cannot"] = [asdict(one) for one in found.cannot]
    return row


def _before_reading(reading: BeforeReading) -> dict[str, object]:
    row = asdict(reading)
    row["from"], row["with"] = row.pop("from_"), row.pop("with_")
    return row
