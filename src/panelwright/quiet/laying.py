"""How pads are laid so that they lie down and stick."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.sources import Basis, Mark, Source, merge
from panelwright.tables import load


@dataclass(frozen=True)
class Laying:
    """Instructions, cautions, and on whose word."""

    how: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[Source, ...]


PRACTICE = Source(Basis.PRACTICE, "laying of sound pads")


def _row(key: str) -> tuple[float, float, Source]:
    table = load("pad_laying")
    for number, row in enumerate(table.records()):
        if row["key"] == key:
            source = Source(Basis(str(row["basis"])), str(row["source"]), Mark(str(row["mark"])))
            return table.number(number, "low_C"), table.number(number, "high_C"), source
    raise KeyError(key)


def _bay(air_C: float | None) -> str:
    low, high, _ = _row("apply")
    _, brittle, _ = _row("brittle")
    if air_C is None:
        return f"Measure the bay: pads are laid at {low:g} to {high:g} °C."
    if air_C < brittle:
        return (
            f"The bay is at {air_C:g} °C: under {brittle:g} °C pads crack. Bring bay, panel and "
            f"pads to {low:g} to {high:g} °C first."
        )
    if air_C < low:
        return (
            f"The bay is at {air_C:g} °C: warm panel and pads to {low:g} to {high:g} °C before "
            "they are laid."
        )
    if air_C > high:
        return (
            f"The bay is at {air_C:g} °C, above the {low:g} to {high:g} °C of the data: the pad "
            "is soft, carry it flat so that it keeps its shape."
        )
    return f"The bay is at {air_C:g} °C, inside the {low:g} to {high:g} °C that pads are laid at."


def laying(air_C: float | None) -> Laying:
    """How pads are laid, in order.

    Parameters
    ----------
    air_C : float or None
        Of the bay. [°C]

    Returns
    -------
    Laying
        Temperatures of generic bitumen pads, marked; the pad's own data sheet replaces them.
    """
    low, high, apply = _row("apply")
    best_low, best_high, best = _row("works-best")
    how = (
        "Lay pads once the panel is bonded and cooled, before the cavity is closed and sealed.",
        "The panel dry, dust-free and degreased; primer whole beneath each pad.",
        _bay(air_C),
        (
            f"Warm each pad until it hangs limp and bends without cracking ({low:g} to {high:g} °C "
            "for this kind; hotter only as its data sheet says), lay it from one edge and roll it "
            "down from the middle so that no air is left."
        ),
        "Keep off flanges, seams, clips, wiring, drain holes and threads; check that drains run.",
        (
            "Lay each where the old one was: a pad works where the panel bends, in its middle, "
            "and does little at its edge."
        ),
        (
            "Tap test against the other side when cold: a dull knock, and the same on both. Pads "
            f"work best at {best_low:g} to {best_high:g} °C, about half as well at 0 and 40 °C "
            f"[{best.mark}]."
        ),
    )
    cautions = (
        "Hot pads and hot-air guns burn skin: gloves, and air moving where bitumen fumes.",
        "Solvent for degreasing: no flame, gloves, ventilation; dry before heat comes near.",
        (
            "No heat on a bonded joint that still cures beyond its adhesive's limit, and none near "
            "battery, restraint parts or wiring."
        ),
    )
    return Laying(how, cautions, merge((apply, best, PRACTICE)))
