"""Where a step's facts are entered, so that its page is one tap away."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.plan.answer import PlannedStep

ROOMS: Mapping[str, tuple[str, str]] = {
    "shop": ("Vehicle, shop", "identify"),
    "findings": ("Findings", "unbolt separate take-off lift-off inspect inspect-all supplement"),
    "parts": ("Parts list", "arrive"),
    "joints": ("Joints", "question-maker ask-maker drill rivet-trial"),
    "fit": ("Fit", "read-body read-old pull dry-fit measure-fit gap-check final-fit"),
    "bond": (
        "Bond",
        "prepare bead close rivet lamp-set lamp heat-check cure peel release full-cure",
    ),
    "quiet": ("Quiet", "pads"),
    "photos": ("Photos", "photos-before photos-after"),
    "job-file": ("Job file", "hand-over"),
}
"""Pages by address: their names, and the steps of the library that they belong to."""
_PAGE = {base: page for page, (_, bases) in ROOMS.items() for base in bases.split()}


@dataclass(frozen=True)
class StepPage:
    """A page that a step belongs to: its name for a button, and its address within the repair."""

    label: str
    path: str


def page_of(step: PlannedStep, repair: Repair) -> StepPage | None:
    """Give the page on which the facts of a step are entered; None where it is the step alone.

    A step on one joint or part leads to that one's own screen.
    """
    page = _PAGE.get(step.base)
    if page is None:
        return None
    label = ROOMS[page][0]
    if page == "joints":
        joints = [joint for joint in repair.joints if joint.id in step.concerns]
        if len(joints) == 1:
            return StepPage(joints[0].label, f"joint?id={quote(joints[0].id, safe='')}")
    if step.base == "inspect":
        parts = [part for part in repair.parts if part.id in step.concerns]
        if len(parts) == 1:
            return StepPage(parts[0].label, f"part?id={quote(parts[0].id, safe='')}")
    return StepPage(label, page)
