"""The plan's answer with exactly the keys that others rely on, and some more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.sources import marks

if TYPE_CHECKING:
    from panelwright.plan.answer import KitLine, PlanAnswer, PlannedStep


def as_json(answer: PlanAnswer) -> dict[str, object]:
    """The answer as one JSON object; times are ISO 8601 with the shop's offset."""
    return {
        "steps": [_step(step) for step in answer.steps],
        "kit": [_line(line) for line in answer.kit],
        "ready_for_paint": {
            ready.repair: {
                "p50": ready.p50.isoformat(),
                "p90": ready.p90.isoformat(),
                "planned": ready.planned.isoformat(),
                "shares": [{"from": one.name, "share": one.variance} for one in ready.shares],
            }
            for ready in answer.ready_for_paint
        },
        "critical": list(answer.critical),
        "status": answer.status.value,
        "gap": answer.gap,
        "why": list(answer.why),
        "problems": [{"where": p.where, "what": p.what} for p in answer.problems],
        "now": answer.now.isoformat(),
        "zone": answer.zone,
        "sources": [str(source) for source in answer.sources],
        "marks": list(marks(answer.sources)),
    }


def _step(step: PlannedStep) -> dict[str, object]:
    return {
        "id": step.id,
        "repair": step.repair,
        "stage": step.stage,
        "name": step.name,
        "by": step.by.value,
        "people": step.people,
        "person": step.person,
        "start": step.start.isoformat(),
        "end": step.end.isoformat(),
        "work_min": step.work_minutes,
        "waits_for": list(step.waits_for),
        "cautions": [caution.words for caution in step.cautions],
        "hold": step.hold,
        "proves": step.proves,
        "why": step.why,
        "concerns": list(step.concerns),
        "done": step.done,
        "overtaken": step.overtaken,
        "sources": [str(source) for source in step.sources],
        "marks": list(marks(step.sources)),
    }


def _line(line: KitLine) -> dict[str, object]:
    return {
        "item": line.item,
        "need": line.need,
        "have": line.have,
        "unit": line.unit,
        "for": list(line.for_),
        "short": line.short,
        "note": line.note,
        "sources": [str(source) for source in line.sources],
    }
