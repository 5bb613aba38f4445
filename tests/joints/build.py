"""Small repairs to ask the joints room about."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from panelwright.facts.file import document_from
from panelwright.facts.repair import repair_of
from panelwright.joints import answer

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.joints.answer import JointAnswer, JointsAnswer

PARTS: list[dict[str, Any]] = [
    {
        "id": "outer",
        "material": "EN AW-6016-T4",
        "thickness": "1.0 mm",
        "state": "replace",
    },
    {"id": "inner", "material": "EN AW-5754-O", "thickness": "1.2 mm"},
]
OLD: dict[str, Any] = {
    "fastener": "self-piercing rivet",
    "diameter": "5.3 mm",
    "count": 5,
    "at": ["30 mm", "80 mm", "130 mm", "180 mm", "230 mm"],
    "adhesive": True,
    "strength": "3.5 kN",
}
JOINT: dict[str, Any] = {
    "id": "arch",
    "layers": ["outer", "inner"],
    "kind": "rivet-bond",
    "length": "260 mm",
    "flange": "18 mm",
    "old": OLD,
}
RIVET: dict[str, Any] = {
    "id": "R48",
    "diameter": "4.8 mm",
    "length": "10 mm",
    "grip": ["1.5 mm", "3.5 mm"],
    "head_diameter": "9.5 mm",
    "hole": "4.9 mm",
    "shear": "4.0 kN",
    "material": "aluminium",
}
ADHESIVE: dict[str, Any] = {"id": "E1", "thickness": "0.3 mm", "lap_shear": "20 MPa"}


def without(table: dict[str, Any], *keys: str, **more: Any) -> dict[str, Any]:
    """A copy of a table without some keys and with some others."""
    return {**{key: value for key, value in table.items() if key not in keys}, **more}


def repair(
    joint: dict[str, Any] | None = None,
    parts: list[dict[str, Any]] | None = None,
    rivets: list[dict[str, Any]] | None = None,
    adhesives: list[dict[str, Any]] | None = None,
    **tables: Any,
) -> Repair:
    """A repair with one joint unless told otherwise."""
    return repair_of(
        document_from(
            {
                "format": 1,
                "repair": {"name": "test"},
                "part": PARTS if parts is None else parts,
                "joint": [JOINT if joint is None else joint],
                "rivet": [] if rivets is None else rivets,
                "adhesive": [ADHESIVE] if adhesives is None else adhesives,
                **tables,
            }
        )
    )


def ask(*arguments: Any, **tables: Any) -> JointsAnswer:
    """The room's answer for such a repair."""
    return answer(repair(*arguments, **tables))


def ask_one(*arguments: Any, **tables: Any) -> JointAnswer:
    """The answer for its only joint."""
    (joint,) = ask(*arguments, **tables).joints
    return joint
