"""What a part carries: to make safe, move over, refit, calibrate."""

from __future__ import annotations

import re

from panelwright.sources import Source
from panelwright.tables import load
from panelwright.teardown.answer import Action, Carried

OTHER = "other"


def kind_of(what: str) -> str:
    """Which kind of thing a text names; "other" where no word of the table is in it.

    Parameters
    ----------
    what : str
        As the file names it.

    Returns
    -------
    str

    Examples
    --------
    >>> kind_of("corner radar"), kind_of("side airbag sensor"), kind_of("ladder")
    ('sensor', 'restraint', 'other')
    """
    text = what.lower()
    for row in load("carried_words").records():
        if re.search(rf"\b{re.escape(str(row['word']))}(s|es)?\b", text):
            return str(row["kind"])
    return OTHER


def carried(part: str, what: str, action: Action | None) -> Carried:
    """The care that one carried thing needs.

    Parameters
    ----------
    part : str
        Id of the part that carries it.
    what : str
        As the file names it.
    action : Action or None
        How the part comes off; None where it stays and is worked on.

    Returns
    -------
    Carried
        Common practice; the maker's procedure replaces it.
    """
    kind = kind_of(what)
    table = load("carried_care")
    care = next(row for row in table.records() if row["kind"] == kind)
    move = str(care["replaced"] if action is Action.REPLACE else care["refitted"])
    if action is Action.SECTION:
        move = f"Within the cut: {care['replaced']} Beside it: {care['refitted']}"
    sources: tuple[Source, ...] = (table.source,)
    return Carried(
        part=part,
        what=what,
        kind=kind,
        make_safe=str(care["make_safe"]),
        move=move,
        afterwards=str(care["afterwards"]),
        sources=sources,
    )
