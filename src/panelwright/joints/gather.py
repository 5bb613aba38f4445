"""One joint's facts as plain numbers, with everything that is missing said in words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.facts.repair import BODY
from panelwright.joints import references, settings
from panelwright.joints.old import OldRow, old_row
from panelwright.joints.sheets import SheetState
from panelwright.sources import Basis, Share, Source, standard_uncertainty

if TYPE_CHECKING:
    from panelwright.facts.models.bonding import Adhesive
    from panelwright.facts.models.parts import Joint, Remake
    from panelwright.facts.repair import Repair

RIVETED = "rivet-bond"
BONDED = "bond"
_NEW_STATES = frozenset({"replace", "section"})
_UNTOUCHED = frozenset({"keep", "inspect"})


@dataclass(frozen=True)
class Layer:
    """One sheet of a joint.

    Parameters
    ----------
    id, name : str
    thickness_mm : float or None
    material : str or None
    state : SheetState
        DELIVERED for a part that is replaced, else as the factory's paint oven left it.
    structural : bool
    untouched : bool
        Kept or only to be inspected.
    """

    id: str
    name: str
    thickness_mm: float | None
    material: str | None
    state: SheetState
    structural: bool
    untouched: bool


@dataclass(frozen=True)
class JointFacts:
    """What is known about one joint, in millimetres and newtons.

    Parameters
    ----------
    joint : Joint
        The entry of the repair file.
    where : str
        Its table path.
    layers : tuple of Layer
        Outermost first.
    opened_mm : (float, float) or None
        From where to where it is remade.
    old : OldRow
        Of the whole joint.
    bond_line_mm : float
        Thickness of one bond line.
    bond_line_source : Source
    adhesive : Adhesive or None
        The one the joint is remade with; None too where it may not be proposed.
    stack_mm : float or None
        Sheets with bond lines.
    stack_shares : tuple of Share
        What each adds to the stack's variance [mm²].
    procedure : Source
        What the repair's governing procedure is called.
    problems : tuple of Problem
    notes : tuple of str
    """

    joint: Joint
    where: str
    layers: tuple[Layer, ...]
    opened_mm: tuple[float, float] | None
    old: OldRow
    bond_line_mm: float
    bond_line_source: Source
    adhesive: Adhesive | None
    stack_mm: float | None
    stack_shares: tuple[Share, ...]
    procedure: Source
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]

    @property
    def stack_u_mm(self) -> float | None:
        """Standard uncertainty of the stack [mm]."""
        return standard_uncertainty(self.stack_shares) if self.stack_shares else None

    @property
    def structural(self) -> bool:
        """Whether any sheet is structural: then nothing is proposed."""
        return any(layer.structural for layer in self.layers)

    @property
    def remake(self) -> Remake | None:
        """What the procedure says."""
        return self.joint.remake

    @property
    def flange_mm(self) -> float | None:
        """Overlap width [mm]."""
        return self.joint.flange.mm if self.joint.flange else None

    @property
    def length_mm(self) -> float | None:
        """Whole length [mm]."""
        return self.joint.length.mm if self.joint.length else None

    @property
    def lines(self) -> int:
        """How many bond lines lie between the sheets."""
        return max(len(self.layers) - 1, 1)

    @property
    def concerned(self) -> bool:
        """Whether anything is said or done about this joint, so that gaps in its facts matter."""
        return (
            self.joint.remake is not None
            or self.joint.old is not None
            or not all(layer.untouched for layer in self.layers)
        )

    @property
    def old_in_opening(self) -> tuple[float, ...]:
        """Old places within the stretch that is remade [mm]."""
        if self.opened_mm is None:
            return self.old.at_mm
        low, high = self.opened_mm
        return tuple(place for place in self.old.at_mm if low <= place <= high)

    @property
    def old_count(self) -> int | None:
        """Old rivets within the stretch that is remade."""
        whole = self.length_mm is None or self.opened_mm == (0.0, self.length_mm)
        return self.old.count if whole or self.old.count is None else len(self.old_in_opening)


def _layer(repair: Repair, name: str) -> Layer:
    part = repair.part_by_id.get(name)
    if part is None:
        label = "body" if name == BODY else name
        return Layer(name, label, None, None, SheetState.BAKED, structural=False, untouched=True)
    return Layer(
        id=part.id,
        name=part.label,
        thickness_mm=part.thickness.mm if part.thickness else None,
        material=part.material,
        state=SheetState.DELIVERED if part.state in _NEW_STATES else SheetState.BAKED,
        structural=part.structural,
        untouched=part.state in _UNTOUCHED,
    )


def _place_of_part(repair: Repair, name: str, joint_where: str) -> str:
    for number, part in enumerate(repair.parts):
        if part.id == name:
            return f"part[{number}]"
    return f"{joint_where}.layers"


def _layer_problems(repair: Repair, layers: tuple[Layer, ...], where: str) -> list[Problem]:
    problems = []
    if len(layers) < 2:
        problems.append(
            Problem(
                f"{where}.layers",
                "only one layer is named; a joint holds two or more: name the other part, declare "
                "it as [[part]] where it is not there yet",
                hard=False,
            )
        )
    for layer in layers:
        if layer.thickness_mm is None:
            place = _place_of_part(repair, layer.id, where)
            what = (
                "the body has no thickness: declare the piece of body under this joint as a "
                '[[part]] with thickness = "1.5 mm" and name it here'
                if layer.id == BODY
                else f"{layer.name!r} has no thickness; stack and rivet length need it: measure "
                'it with a caliper and give thickness = "1.2 mm"'
            )
            spot = f"{place}.thickness" if place.startswith("part[") else place
            problems.append(Problem(spot, what, hard=False))
    return problems


def _opened(repair: Repair, joint: Joint) -> tuple[tuple[float, float] | None, str]:
    """The stretch that is remade: all of it, unless its parts are only sectioned there."""
    if joint.length is None:
        return None, ""
    whole = (0.0, joint.length.mm)
    parts = [repair.part_by_id[name] for name in joint.layers if name in repair.part_by_id]
    cuts = [cut for part in parts if part.state == "section" for cut in part.section]
    cuts = [cut for cut in cuts if cut.joint == joint.id]
    if not cuts or any(part.state == "replace" for part in parts):
        return whole, ""
    low = min(cut.from_.mm if cut.from_ else 0.0 for cut in cuts)
    high = max(cut.to.mm if cut.to else joint.length.mm for cut in cuts)
    low, high = max(low, 0.0), min(high, joint.length.mm)
    if high <= low:
        return whole, "the cut of the sectioned part lies off the joint: all of it is taken"
    return (low, high), f"sectioned: remade from {low:g} to {high:g} mm only"


def _bond_line(joint: Joint, adhesive: Adhesive | None, procedure: Source) -> tuple[float, Source]:
    if joint.remake and joint.remake.bond_line:
        return joint.remake.bond_line.mm, procedure
    if adhesive is not None and adhesive.thickness is not None:
        said = adhesive.source or "no source named"
        return adhesive.thickness.mm, Source(
            Basis.DATA_SHEET, f"[[adhesive]] {adhesive.id}, bond line: {said}"
        )
    return settings.BOND_LINE_MM, references.BOND_LINE


def _procedure(repair: Repair, joint: Joint) -> Source:
    named = " ".join(
        word
        for word in (
            repair.procedure.reference or "the maker's procedure (reference not given)",
            f"revision {repair.procedure.revision}" if repair.procedure.revision else "",
        )
        if word
    )
    return Source(Basis.PROCEDURE, f"{named}, joint {joint.label}")


def _extent_problems(joint: Joint, where: str) -> list[Problem]:
    problems = []
    if joint.length is None:
        problems.append(
            Problem(
                f"{where}.length",
                f"{joint.label!r} has no length; positions and adhesive need it: measure along the "
                'flange and give length = "760 mm"',
                hard=False,
            )
        )
    if joint.flange is None:
        problems.append(
            Problem(
                f"{where}.flange",
                f"{joint.label!r} has no flange width; edge distance, adhesive and bond need it: "
                'measure the overlap and give flange = "18 mm"',
                hard=False,
            )
        )
    return problems


def gather(repair: Repair, joint: Joint, where: str) -> JointFacts:
    """What is known about one joint.

    Parameters
    ----------
    repair : Repair
    joint : Joint
        One of its joints.
    where : str
        Its table path such as ``joint[2]``.

    Returns
    -------
    JointFacts
    """
    layers = tuple(_layer(repair, name) for name in joint.layers)
    procedure = _procedure(repair, joint)
    adhesive = repair.adhesive_of(joint)
    line_mm, line_source = _bond_line(joint, adhesive, procedure)
    lines = max(len(layers) - 1, 1)
    sheets = [layer.thickness_mm for layer in layers if layer.thickness_mm is not None]
    complete = len(sheets) == len(layers) >= 2
    shares = (
        *(Share(f"thickness of {layer.name}", settings.SHEET_U_MM**2) for layer in layers),
        Share("bond line", lines * settings.BOND_LINE_U_MM**2),
    )
    opened, note = _opened(repair, joint)
    old = joint.old
    row = old_row(
        old.count if old else None,
        tuple(place.mm for place in old.at) if old else (),
        joint.length.mm if joint.length else None,
        f"{where}.old",
    )
    problems = [*_layer_problems(repair, layers, where), *_extent_problems(joint, where)]
    return JointFacts(
        joint=joint,
        where=where,
        layers=layers,
        opened_mm=opened,
        old=row,
        bond_line_mm=line_mm,
        bond_line_source=line_source,
        adhesive=adhesive,
        stack_mm=math.fsum(sheets) + lines * line_mm if complete else None,
        stack_shares=shares if complete else (),
        procedure=procedure,
        problems=(*problems, *row.problems),
        notes=tuple(words for words in (note, row.note) if words),
    )
