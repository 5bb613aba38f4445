"""A joint's table as the fields of its form, and back: measures, old fasteners, the procedure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from panelwright.web import joints_view
from panelwright.web.anew import body_of

if TYPE_CHECKING:
    from panelwright.facts.models.parts import Joint
    from panelwright.web.forms import Form
    from panelwright.web.visit import There

_TO = re.compile(r"\s+to\s+|\s*[\u2013\u2026]\s*|(?<=[\d\"m])\s*-\s*(?=\d)")
"""Between the ends of a stretch: "310 to 345" or "310-345"."""


def told(body: Mapping[str, object]) -> dict[str, str]:
    """Give a joint's table as text for the fields of its form."""
    old, remake = (_table(body, key) for key in ("old", "remake"))
    text = {key: body.get(key) for key in ("name", "kind", "length", "flange")}
    text |= {f"old_{key}": old.get(key) for key in ("fastener", "diameter", "count", "strength")}
    text |= {
        f"new_{key}": remake.get(key) for key in ("rivet", "count", "adhesive", "edge", "bond_line")
    }
    said = {key: "" if value is None else str(value) for key, value in text.items()}
    return said | {
        "old_strength": said["old_strength"].removesuffix(" kN"),
        "old_at": _listed(old.get("at")),
        "new_at": _listed(remake.get("at")),
        "old_adhesive": "yes" if old.get("adhesive") else "no",
        "avoid": _listed(_stretch(one) for one in _list(body.get("avoid"))),
    }


def _table(body: Mapping[str, object], key: str) -> dict[str, object]:
    table = body.get(key)
    return dict(table) if isinstance(table, Mapping) else {}


def _list(value: object) -> list[object]:
    return value if isinstance(value, list) else []


def _listed(values: object) -> str:
    return "; ".join(str(one) for one in values) if isinstance(values, Iterable) else ""


def _stretch(pair: object) -> str:
    return " to ".join(str(end) for end in _list(pair))


def taken(there: There, form: Form, joint: Joint) -> dict[str, object]:
    """Give the keys of a joint's table as a form says them; what is wrong is said at its field."""
    units, repair = there.units, there.known.repair
    body = body_of(there.known, "joint", joint.id)
    old = _table(body, "old")
    old |= {
        "fastener": form.text("old_fastener", most=120),
        "diameter": form.length("old_diameter", units),
        "count": _whole(form, "old_count"),
        "adhesive": _adhesive(form, old),
        "strength": _force(form, "old_strength"),
    }
    remake = _table(body, "remake") | {
        "rivet": form.choice("new_rivet", [rivet.id for rivet in repair.rivets], need=""),
        "count": _whole(form, "new_count"),
        "adhesive": form.choice("new_adhesive", repair.adhesive_by_id, need=""),
        "edge": form.length("new_edge", units),
        "bond_line": form.length("new_bond_line", units),
    }
    for which, table in (("old", old), ("new", remake)):
        _places(there, form, which, table)
    return {
        "name": form.text("name", need="Say what people call it.", most=120),
        "kind": form.choice("kind", dict(joints_view.KINDS), need="Choose how it is held."),
        "length": form.length("length", units),
        "flange": form.length("flange", units),
        "avoid": _avoid(there, form, body.get("avoid")),
        "old": _given(old),
        "remake": _given(remake),
    }


def _places(there: There, form: Form, which: str, table: dict[str, object]) -> None:
    """Take the places of rivets; those of before are dropped where the number is another now."""
    name, before, count = f"{which}_at", _list(table.get("at")), table.get("count")
    typed = form.lengths(name, there.units) if name in form.values else before
    table["at"] = typed or None
    if not typed or not isinstance(count, int):
        return
    if len(typed) > count or (len(typed) < count and (which == "new" or typed == before)):
        table["at"] = None
        if typed != before:
            form.wrong(name, f"{len(typed)} places for {count}: count again.")


def _adhesive(form: Form, old: Mapping[str, object]) -> object:
    """Give whether the factory set adhesive; as before where it is not asked."""
    said = form.choice("old_adhesive", ("yes", "no"), need="")
    return old.get("adhesive") if said is None else said == "yes" or None


def _avoid(there: There, form: Form, before: object) -> object:
    """Give the stretches to keep free."""
    if "avoid" not in form.values:
        return before
    text = form.text("avoid", most=400)
    found: list[object] = []
    for one in re.split(r"[;\n]|,\s+", text or ""):
        if not one.strip():
            continue
        ends = [
            form.as_length("avoid", end, there.units) for end in _TO.split(one.strip(), maxsplit=1)
        ]
        low, *rest = ends
        if len(rest) != 1:
            form.wrong("avoid", f"{one.strip()!r}: write from and to, such as 310 to 345.")
        elif low is not None and rest[0] is not None:
            found.append([low, rest[0]])
    return found or None


def _force(form: Form, name: str) -> str | None:
    number = form.number(name, least=0.01, most=100)
    return None if number is None else f"{number:g} kN"


def _whole(form: Form, name: str) -> int | None:
    number = form.number(name, least=0, most=500)
    if number is not None and number != int(number):
        form.wrong(name, f"{number:g}: expected a whole number.")
    return None if number is None else int(number)


def _given(table: Mapping[str, object]) -> dict[str, object] | None:
    """Give a table without what is empty."""
    return {key: value for key, value in table.items() if value is not None} or None
