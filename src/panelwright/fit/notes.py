"""What the room has to say about entries that it leaves out."""

from __future__ import annotations

from panelwright.facts.problem import Problem


def left_out(where: str, what: str) -> Problem:
    """A problem of one entry; the rest is answered without it.

    Parameters
    ----------
    where : str
        Table path, such as ``reading[3]``.
    what : str
        What is wrong and what to do.

    Returns
    -------
    Problem
    """
    return Problem(where, what, hard=False)
