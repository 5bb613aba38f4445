"""The question of this room, asked of a whole repair."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.errors import Unanswerable
from panelwright.facts.assumed import to_confirm
from panelwright.facts.problem import Problem
from panelwright.joints.answer import JointAnswer, JointsAnswer, Need, OtherJoint
from panelwright.joints.choice import declared_rivets
from panelwright.joints.gather import BONDED, RIVETED, gather
from panelwright.joints.joint import answer_joint
from panelwright.joints.sheets import known_sheets, sheet_strength

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.joints.gather import JointFacts

_DRILLING = "Setting and drilling rivets: eye and hearing protection; mandrels and swarf are sharp."
_DUST = (
    "Aluminium dust and chips: tools and vacuum for aluminium only, no air-line blow-off, class D "
    "extinguisher at hand, never water on burning aluminium."
)
_BEHIND = (
    "Before drilling look behind the flange: wiring, high-voltage lines, restraint parts, fuel "
    "lines. High voltage is isolated by a qualified person first."
)
_SKIN = (
    "Uncured adhesive and solvents sensitise skin: gloves, long sleeves, eye protection, fresh "
    "air; no flame, no sparks near solvents."
)
_TRIAL = (
    "Trial first: set a rivet on the same stack and section or measure it, and peel a coupon of "
    "this batch of adhesive, before the first bead."
)
CAUTIONS = (_DRILLING, _DUST, _BEHIND, _SKIN, _TRIAL)

_NO_JOINT = (
    "This repair has no joint. Give each flange as [[joint]] with id, layers (outermost first), "
    "kind, length, flange and old = { fastener, diameter, count, at }."
)
_WHY_NOT = {
    "bolt": "bolted: number, size, torque and new bolts by the procedure",
    "weld": "welded: by the procedure and a qualified welder, away from adhesive and battery",
    "hem": "hemmed: by the procedure",
    "sleeve": "sleeve joint: by the procedure",
}


def _unknown_sheets(repair: Repair, facts: JointFacts) -> tuple[Problem, ...]:
    """A problem for each sheet whose strength is not in the table."""
    numbers = {part.id: number for number, part in enumerate(repair.parts)}
    problems = []
    for layer in facts.layers:
        if layer.id not in numbers or sheet_strength(layer.material, layer.state) is not None:
            continue
        said = f"{layer.material!r} is" if layer.material else "no material is given; it should be"
        told = "not among the sheets of the table" if layer.material else "one of the table's"
        problems.append(
            Problem(
                f"part[{numbers[layer.id]}].material",
                f"{layer.name!r}: {said} {told} ({', '.join(known_sheets())}); the strength of its "
                "joints is left out until alloy and temper are given like these",
                hard=False,
            )
        )
    return tuple(problems)


def answer(repair: Repair) -> JointsAnswer:
    """How every riveted or bonded joint of a repair is put back.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    JointsAnswer
        Partial where facts are missing: its `problems` say which and where.

    Raises
    ------
    Unanswerable
        The repair has no joint at all.
    """
    if not repair.joints:
        raise Unanswerable((_NO_JOINT,))
    rivets, problems = declared_rivets(repair.rivets)
    found = [*problems, *to_confirm(repair.assumed, "part", "joint")]
    joints: list[JointAnswer] = []
    needs: list[Need] = []
    others: list[OtherJoint] = []
    for number, joint in enumerate(repair.joints):
        if joint.kind not in {RIVETED, BONDED}:
            others.append(OtherJoint(joint.id, joint.kind, _WHY_NOT[joint.kind]))
            continue
        facts = gather(repair, joint, f"joint[{number}]")
        result = answer_joint(facts, rivets, repair.shop.confidence)
        joints.append(result.answer)
        needs += result.needs
        found += result.problems
        if facts.concerned:
            found += _unknown_sheets(repair, facts)
    return JointsAnswer(
        joints=tuple(joints),
        others=tuple(others),
        needs=tuple(needs),
        cautions=CAUTIONS,
        problems=tuple(dict.fromkeys(found)),
    )
