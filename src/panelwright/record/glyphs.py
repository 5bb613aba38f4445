"""Which characters the shipped fonts can show, and what stands for the others."""

from __future__ import annotations

import struct
import unicodedata
from functools import cache
from pathlib import Path

FONT_FOLDER = Path(__file__).parent / "fonts"
"""The fonts that every job file is set in; no other font is ever used."""

FAMILIES = ("Noto Sans", "Noto Sans Math", "Noto Sans Symbols2")
"""In the order in which a character is looked for."""

BOX = "\N{WHITE SQUARE}"
"""Stands for a character that no shipped font holds."""

LONGEST_WORD = 18
"""Characters of the longest word that is kept whole, so that none can leave its column."""

PIECE = 9
"""Characters after which a longer word may be broken; an opportunity, nothing is added."""

BREAK = "\N{ZERO WIDTH SPACE}"


def _segments(table: bytes) -> set[int]:
    """Code points of a cmap subtable of format 4 (OpenType 1.9, cmap)."""
    count = struct.unpack_from(">H", table, 6)[0] // 2
    ends = struct.unpack_from(f">{count}H", table, 14)
    starts = struct.unpack_from(f">{count}H", table, 16 + 2 * count)
    return {
        code
        for start, end in zip(starts, ends, strict=True)
        for code in range(start, end + 1)
        if code != 0xFFFF
    }


def _groups(table: bytes) -> set[int]:
    """Code points of a cmap subtable of format 12 (OpenType 1.9, cmap)."""
    count = struct.unpack_from(">I", table, 12)[0]
    rows = struct.iter_unpack(">III", table[16 : 16 + 12 * count])
    return {code for start, end, _ in rows for code in range(start, end + 1)}


def code_points(font: bytes) -> frozenset[int]:
    """Code points that a TrueType font maps to a glyph."""
    tables = struct.unpack_from(">H", font, 4)[0]
    found: set[int] = set()
    for index in range(tables):
        tag, _, offset, length = struct.unpack_from(">4sIII", font, 12 + 16 * index)
        if tag != b"cmap":
            continue
        cmap = font[offset : offset + length]
        for record in range(struct.unpack_from(">H", cmap, 2)[0]):
            start = struct.unpack_from(">I", cmap, 4 + 8 * record + 4)[0]
            subtable = cmap[start:]
            kind = struct.unpack_from(">H", subtable)[0]
            found |= {4: _segments, 12: _groups}.get(kind, lambda _: set())(subtable)
    return frozenset(found)


@cache
def covered() -> frozenset[int]:
    """Code points that at least one shipped font can show."""
    fonts = sorted(FONT_FOLDER.glob("*.ttf"))
    return frozenset().union(*(code_points(font.read_bytes()) for font in fonts))


def _visible(character: str) -> bool:
    """Whether a character may stand in the job file as it is."""
    if character in "\n\u200b":
        return True
    if unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co", "Cn"}:
        return False  # controls, direction overrides, private use: never passed on
    return ord(character) in covered()


def missing(text: str) -> tuple[str, ...]:
    """Characters of a text that the shipped fonts cannot show, each once, in order."""
    return tuple(c for c in dict.fromkeys(text) if not _visible(c))


def shown(text: str) -> str:
    """A text with a box in place of every character that cannot be shown."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(c if _visible(c) else " " if c in "\t\r" else BOX for c in text)


def breakable(text: str) -> str:
    """A text in which no word is too long for a line."""
    if len(text) <= LONGEST_WORD:
        return text
    return " ".join(
        BREAK.join(word[i : i + PIECE] for i in range(0, len(word), PIECE))
        if len(word) > LONGEST_WORD
        else word
        for word in text.split(" ")
    )
