"""How a page of plain text is laid out: headings, wrapped sentences, tables."""

from __future__ import annotations

import textwrap
import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

WIDTH = 96
"""Columns of a page."""


def breadth(text: str) -> int:
    """Columns that a text takes on a terminal."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def heading(text: str) -> str:
    """A heading, underlined."""
    return f"\n{text}\n{'─' * min(breadth(text), WIDTH)}"


def wrap(text: str, *, indent: int = 0) -> str:
    """A sentence wrapped to the page."""
    margin = " " * indent
    return textwrap.fill(
        text, WIDTH, initial_indent=margin, subsequent_indent=margin, break_long_words=True
    )


def bullet(text: str, *, mark: str = "•", indent: int = 0) -> str:
    """A sentence behind a mark, wrapped under its first word."""
    margin = " " * indent
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"{margin}{mark} ",
        subsequent_indent=margin + " " * (breadth(mark) + 1),
    )


def bullets(texts: Iterable[str], *, mark: str = "•", indent: int = 0) -> str:
    """Sentences one below the other."""
    return "\n".join(bullet(text, mark=mark, indent=indent) for text in texts)


def _padded(cell: str, width: int, side: str) -> str:
    gap = " " * max(width - breadth(cell), 0)
    return gap + cell if side == ">" else cell + gap


def table(
    header: Sequence[str], rows: Iterable[Sequence[str]], *, align: str = "", indent: int = 0
) -> str:
    """A table with its header underlined.

    `align` has one of ``<`` and ``>`` for each column; columns beyond it stand left. The last
    column is wrapped to the page where it is too long.
    """
    cells = [list(header), *([str(cell) for cell in row] for row in rows)]
    widths = [max(1, *(breadth(row[k]) for row in cells)) for k in range(len(header))]
    sides = align.ljust(len(header), "<")
    before = indent + sum(widths[:-1]) + 2 * (len(widths) - 1)
    widths[-1] = min(widths[-1], max(WIDTH - before, 16))
    lines = []
    for row in cells:
        last = textwrap.wrap(row[-1], widths[-1]) or [""]
        start = [_padded(c, w, s) for c, w, s in zip(row[:-1], widths, sides, strict=False)]
        lines.append("  ".join([*start, _padded(last[0], widths[-1], sides[-1])]).rstrip())
        lines += [" " * (before - indent) + more for more in last[1:]]
    rule = "  ".join("─" * width for width in widths)
    count = len(textwrap.wrap(cells[0][-1], widths[-1])) or 1
    return textwrap.indent("\n".join([*lines[:count], rule, *lines[count:]]), " " * indent)


def page(*blocks: str) -> str:
    """Blocks of a page, each below the other; empty ones left out."""
    return "\n".join(block for block in blocks if block).strip("\n") + "\n"
