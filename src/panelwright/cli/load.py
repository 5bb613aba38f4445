"""From what was named on the command line to a repair that a question can use."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.errors import InvalidFile

if TYPE_CHECKING:
    from panelwright.facts.problem import Problem, Question
    from panelwright.facts.repair import Repair


_STORED = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,79}")


def text_of(path: str) -> str:
    """Text of a repair file; ``-`` is standard input. InvalidFile where it cannot be read."""
    try:
        data = sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InvalidFile([(path, f"cannot be read: {reason}")]) from error
    except ValueError as error:
        raise InvalidFile([(repr(path), f"is no file name: {error}")]) from error
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InvalidFile(
            [(path, f"is not UTF-8 text (byte {error.start}); save it as UTF-8")]
        ) from error


def _stored(name: str) -> Repair:
    """A repair of the store in PANELWRIGHT_DATA or the platform's data folder."""
    from panelwright.errors import PanelwrightError  # noqa: PLC0415
    from panelwright.store import place_of, resolve  # noqa: PLC0415

    place = place_of(os.environ.get("PANELWRIGHT_DATA"), os.environ.get("PANELWRIGHT_DATABASE"))
    try:
        return resolve(name, place).repair
    except PanelwrightError as error:
        problem = f"there is no such file, and no stored repair: {error}"
        raise InvalidFile([(name, problem)]) from error


def load(path: str) -> Repair:
    """Read a repair file, or a stored repair by its name.

    Raises
    ------
    InvalidFile
        Where there is neither, or its tables are not valid each by itself.
    """
    from panelwright.facts.file import read  # noqa: PLC0415

    if _STORED.fullmatch(path) and not Path(path).exists():
        return _stored(path)
    return read(text_of(path))


def in_the_way(repair: Repair, question: Question) -> tuple[Problem, ...]:
    """Problems of a repair that this question cannot do without."""
    return tuple(problem for problem in repair.problems if question in problem.blocks)


def load_for(path: str, question: Question) -> Repair:
    """Read a repair for one question; InvalidFile where what it needs does not fit."""
    repair = load(path)
    problems = in_the_way(repair, question)
    if problems:
        raise InvalidFile([(problem.where, problem.what) for problem in problems])
    return repair
