"""Blocks of the fit page on what the readings check, and what they leave open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.cli.text import bullets, heading, table
from panelwright.cli.text import page as laid_out
from panelwright.fit.home_conflicts import conflict_words
from panelwright.fit.recheck import recheck_words
from panelwright.fit.reliability import check_words
from panelwright.fit.sees import MOTION_NAMES, sees_words
from panelwright.quantities import show_length, show_length_with_u

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer
    from panelwright.fit.body_answer import BodyAnswer
    from panelwright.fit.part_answer import Sees
    from panelwright.quantities import Units


def openings_table(body: BodyAnswer, units: Units) -> str:
    """Diagonals of every opening that the readings tell, and how far it leans.

    Parameters
    ----------
    body : BodyAnswer
    units : Units

    Returns
    -------
    str
        Empty where there is none.
    """
    rows = [
        (
            f"{' '.join((*check.pair, *check.against))}",
            show_length_with_u(check.diagonal_mm, check.diagonal_u_mm, units),
            show_length_with_u(check.lean_mm, check.lean_u_mm, units),
            "racked" if check.racked else "",
        )
        for check in body.openings
    ]
    if not rows:
        return ""
    header = ("opening", "diagonals differ", "leans to the right", "note")
    return "\n" + table(header, rows, align="<>><")


def recheck_section(answer: Answer, units: Units) -> str:
    """Readings to take again, with what the others say, and what nothing checks.

    Parameters
    ----------
    answer : Answer
    units : Units

    Returns
    -------
    str
    """
    again = [recheck_words(one, units) for one in answer.recheck]
    unchecked = check_words(answer.readings, units)
    return laid_out(
        laid_out(heading("Recheck"), bullets(again), "None of them is left out by itself.")
        if again
        else "",
        laid_out(heading("How far these readings check each other"), bullets(unchecked))
        if unchecked
        else "",
    )


def sees_section(answer: Answer, units: Units) -> str:
    """What each kind of reading sees of each part, and what it leaves open.

    Parameters
    ----------
    answer : Answer
    units : Units

    Returns
    -------
    str
    """
    if not answer.sees:
        return ""
    said = [sees_words(row, units) for row in answer.sees if row.kind == CROSS]
    return laid_out(
        heading("What each kind of check sees by itself"),
        table(
            ("part", "kind", "readings", *MOTION_NAMES, "of 6"),
            [_sees_row(row) for row in answer.sees],
            align="<<>>>>>>>>",
        ),
        "Share of the doubt about each motion that this kind takes away alone.",
        bullets(said),
    )


CROSS = "side against side"


def _sees_row(row: Sees) -> tuple[str, ...]:
    shares = [f"{100.0 * share:.0f} %" for share in row.share]
    return (row.part, row.kind, str(row.readings or "not read"), *shares, str(row.motions))


def homes_section(answer: Answer, units: Units) -> str:
    """Points with more than one source of their target position, and whether these agree.

    Parameters
    ----------
    answer : Answer
    units : Units

    Returns
    -------
    str
    """
    if not answer.homes:
        return ""
    rows = [
        (
            check.point,
            f"{check.one.home} / {check.other.home}",
            *(
                show_length_with_u(d, u, units) if u > 0.0 else show_length(d, units)
                for d, u in zip(check.difference_mm, check.u_mm, strict=True)
            ),
            f"{check.statistic:.1f}",
            "agree" if check.ok else "do not agree",
        )
        for check in answer.homes
    ]
    header = ("point", "sources", "x differs", "y differs", "z differs", "chi-square", "note")
    return laid_out(
        heading("Target positions from more than one source"),
        table(header, rows, align="<<>>>><"),
        bullets(conflict_words(check, units) for check in answer.homes if not check.ok),
    )
