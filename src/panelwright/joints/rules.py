"""Distances that a row of rivets keeps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.joints import settings
from panelwright.joints.answer_parts import Rivet
from panelwright.joints.catalogue import LARGEST_MM, head_and_hole

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts


@dataclass(frozen=True)
class Rules:
    """Distances that a row of one rivet keeps [mm].

    Parameters
    ----------
    diameter_mm, hole_mm, head_mm : float
        Of the rivet; of the largest in the series where it is not known.
    end_minimum_mm, end_wide_mm : float
        From the joint's ends: what the standards ask, and twice the diameter.
    pitch_mm : float
        Least pitch.
    old_clearance_mm : float
        From old holes.
    """

    diameter_mm: float
    hole_mm: float
    head_mm: float
    end_minimum_mm: float
    end_wide_mm: float
    pitch_mm: float
    old_clearance_mm: float


def rules_for(facts: JointFacts, rivet: Rivet | None) -> Rules:
    """The distances that the rivets of a joint keep.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet or None

    Returns
    -------
    Rules

    References
    ----------
    End: EN 1993-1-8 Table 3.3, 1.2 d0 (seen), and EN 1993-1-3 Table 8.1, 1.5 d (from memory); wide:
    AC 43.13-1B, 2 D (seen). Pitch: EN 1999-1-1 Table 8.2, 2.2 d0, and EN 1993-1-3, 3 d (both from
    memory); 3 D in aircraft practice (seen). Old holes: common practice, no source.
    """
    d = rivet.diameter_mm if rivet and rivet.diameter_mm else LARGEST_MM
    head, hole, _, _ = head_and_hole(d)
    hole = rivet.hole_mm if rivet and rivet.hole_mm else hole
    head = rivet.head_mm if rivet and rivet.head_mm else head
    old = facts.joint.old
    old_hole = old.diameter.mm if old and old.diameter else 0.0
    return Rules(
        diameter_mm=d,
        hole_mm=hole,
        head_mm=head,
        end_minimum_mm=max(1.2 * hole, 1.5 * d),
        end_wide_mm=2.0 * d,
        pitch_mm=max(2.2 * hole, 3.0 * d),
        old_clearance_mm=settings.OLD_HOLE_DIAMETERS * max(old_hole, hole),
    )
