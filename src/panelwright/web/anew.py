"""A table said anew: the same as it stands, with what is different now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.assumed import MARK
from panelwright.facts.canonical import plain
from panelwright.web.writes import Say

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.web.known import Known


def standing(known: Known, kind: str, identity: str | None = None) -> Fact | None:
    """Give the fact by which a table stands now; `identity` None for a table that is there once."""
    for fact in reversed(known.folded.facts):
        if fact.kind == kind and (identity is None or fact.body.get("id") == identity):
            return fact
    return None


def body_of(known: Known, kind: str, identity: str | None = None) -> dict[str, object]:
    """Give a table as it was typed; empty where there is none."""
    fact = standing(known, kind, identity)
    told = plain(fact.body) if fact is not None else {}
    return told if isinstance(told, dict) else {}


def anew(known: Known, kind: str, identity: str | None = None, /, **different: object) -> Say:
    """Give what says a table anew.

    Parameters
    ----------
    known : Known
    kind, identity : str
        Which table.
    **different : object
        Its keys that are not as before; None takes a key away.
    """
    whole = {**body_of(known, kind, identity), **different}
    if identity is not None:
        whole["id"] = identity
    return Say(kind, {key: value for key, value in whole.items() if value is not None})


def confirmed(known: Known, kind: str, identity: str, /, **different: object) -> Say:
    """Give what says a table anew without the mark that it is only assumed."""
    return anew(known, kind, identity, **{**different, MARK: None})
