"""Pads cut from stock sheets: a layout that fits, and how few sheets could ever do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

SLACK_MM = 1e-6
"""What the rounding of inches and sums may take."""


@dataclass(frozen=True)
class Piece:
    """The box around a pad and the pad's own area."""

    name: str
    width_mm: float
    height_mm: float
    area_mm2: float


@dataclass(frozen=True)
class Sheet:
    """A stock sheet."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Put:
    """Where a piece lies: sheet from 0, the corner of its box, turned by 90° or not."""

    name: str
    sheet: int
    x_mm: float
    y_mm: float
    turned: bool


@dataclass(frozen=True)
class Layout:
    """A layout.

    Parameters
    ----------
    puts : tuple of Put
        In the order of the pieces given.
    sheets : int
        Sheets that it uses.
    at_least : int
        No layout of these pieces can use fewer.
    too_large : tuple of str
        Pieces that fit no sheet either way round; not placed.
    """

    puts: tuple[Put, ...]
    sheets: int
    at_least: int
    too_large: tuple[str, ...]


@dataclass(frozen=True)
class _Room:
    """A free rectangle of a sheet; those of one sheet may overlap."""

    x: float
    y: float
    w: float
    h: float

    def holds(self, other: _Room) -> bool:
        return (
            self.x <= other.x
            and self.y <= other.y
            and self.x + self.w >= other.x + other.w
            and self.y + self.h >= other.y + other.h
        )


def _ways(piece: Piece) -> tuple[tuple[float, float, bool], ...]:
    return (
        (piece.width_mm, piece.height_mm, False),
        (piece.height_mm, piece.width_mm, True),
    )


def fits(piece: Piece, sheet: Sheet) -> bool:
    """Whether a piece fits an empty sheet, one way round or the other.

    Parameters
    ----------
    piece : Piece
    sheet : Sheet

    Returns
    -------
    bool
    """
    return any(
        w <= sheet.width_mm + SLACK_MM and h <= sheet.height_mm + SLACK_MM
        for w, h, _ in _ways(piece)
    )


def _without(room: _Room, cut: _Room) -> list[_Room]:
    """The largest rectangles of a room that a cut leaves free."""
    right, top = room.x + room.w, room.y + room.h
    cut_right, cut_top = cut.x + cut.w, cut.y + cut.h
    apart = cut.x >= right or cut_right <= room.x or cut.y >= top or cut_top <= room.y
    if apart:
        return [room]
    left = []
    if cut.x > room.x:
        left.append(_Room(room.x, room.y, cut.x - room.x, room.h))
    if cut_right < right:
        left.append(_Room(cut_right, room.y, right - cut_right, room.h))
    if cut.y > room.y:
        left.append(_Room(room.x, room.y, room.w, cut.y - room.y))
    if cut_top < top:
        left.append(_Room(room.x, cut_top, room.w, top - cut_top))
    return left


def _cut(rooms: list[_Room], cut: _Room) -> list[_Room]:
    """Free rectangles after a cut, none inside another."""
    every = [rest for room in rooms for rest in _without(room, cut)]
    return [
        room
        for i, room in enumerate(every)
        if not any(
            other.holds(room) and (other != room or j < i)
            for j, other in enumerate(every)
            if j != i
        )
    ]


def _best(piece: Piece, rooms: list[_Room]) -> tuple[_Room, bool] | None:
    """Where a piece leaves the shortest side over (best short side fit), lowest, leftmost."""
    found = []
    for room in rooms:
        for w, h, turned in _ways(piece):
            if w <= room.w + SLACK_MM and h <= room.h + SLACK_MM:
                over = sorted((room.w - w, room.h - h))
                found.append(((over[0], over[1], room.y, room.x, turned), room, turned))
    if not found:
        return None
    _, room, turned = min(found, key=lambda item: item[0])
    width, height = (
        (piece.height_mm, piece.width_mm) if turned else (piece.width_mm, piece.height_mm)
    )
    return _Room(room.x, room.y, width, height), turned


def _pack(pieces: Sequence[Piece], sheet: Sheet) -> tuple[dict[str, Put], int]:
    """One pass in the order given: first sheet that has room, else a new one."""
    sheets: list[list[_Room]] = []
    puts: dict[str, Put] = {}
    for piece in pieces:
        for number in range(len(sheets) + 1):
            if number == len(sheets):
                sheets.append([_Room(0.0, 0.0, sheet.width_mm, sheet.height_mm)])
            best = _best(piece, sheets[number])
            if best is not None:
                spot, turned = best
                puts[piece.name] = Put(piece.name, number, spot.x, spot.y, turned)
                sheets[number] = _cut(sheets[number], spot)
                break
    return puts, len(sheets)


_ORDERS: tuple[Callable[[Piece], tuple[float, ...]], ...] = (
    lambda piece: (-piece.width_mm * piece.height_mm,),
    lambda piece: (-max(piece.width_mm, piece.height_mm), -min(piece.width_mm, piece.height_mm)),
    lambda piece: (-min(piece.width_mm, piece.height_mm), -max(piece.width_mm, piece.height_mm)),
    lambda piece: (-piece.width_mm - piece.height_mm,),
)


def fewest_by_area(pieces: Sequence[Piece], sheet: Sheet) -> int:
    """Sheets below which no layout can go: the pieces' own area over a sheet's, rounded up.

    Parameters
    ----------
    pieces : sequence of Piece
    sheet : Sheet

    Returns
    -------
    int

    Examples
    --------
    >>> fewest_by_area([Piece("a", 300.0, 200.0, 60000.0)] * 2, Sheet(500.0, 200.0))
    2
    """
    area = math.fsum(piece.area_mm2 for piece in pieces)
    return math.ceil(area / (sheet.width_mm * sheet.height_mm) - 1e-8)


def layout(pieces: Sequence[Piece], sheet: Sheet) -> Layout:
    """Lay pieces on sheets by the boxes around them.

    Largest first in four senses, each piece where it leaves the shortest side over; the pass
    with the fewest sheets counts. The layout always fits; whether it is the fewest possible is
    known only where it equals `at_least`.

    Parameters
    ----------
    pieces : sequence of Piece
        Names all different.
    sheet : Sheet
        Stock sheet; a pad may be turned by 90° but not turned over, for it sticks on one side.

    Returns
    -------
    Layout

    References
    ----------
    Maximal rectangles, best short side fit: J. Jylänki, A Thousand Ways to Pack the Bin, 2010
    (from memory).
    """
    able = [piece for piece in pieces if fits(piece, sheet)]
    too_large = tuple(piece.name for piece in pieces if not fits(piece, sheet))
    passes = [_pack(sorted(able, key=order), sheet) for order in _ORDERS]
    puts, count = min(passes, key=lambda found: found[1])
    return Layout(
        puts=tuple(puts[piece.name] for piece in able),
        sheets=count,
        at_least=fewest_by_area(able, sheet),
        too_large=too_large,
    )
