"""From what was named on the command line to a repair that a question can use."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.errors import InvalidFile

if TYPE_CHECKING:
    from panelwright.facts.problem import Problem, Question
    from panelwright.facts.repair import Repair


@dataclass(frozen=True)
class Loaded:
    """A repair file's text and what it says."""

    path: str
    text: str
    repair: Repair


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


def load(path: str) -> Loaded:
    """Read a repair file; InvalidFile where its tables are not valid each by itself."""
    from panelwright.facts.file import read  # noqa: PLC0415

    text = text_of(path)
    return Loaded(path, text, read(text))


def in_the_way(repair: Repair, question: Question) -> tuple[Problem, ...]:
    """Problems of a repair that this question cannot do without."""
    return tuple(problem for problem in repair.problems if question in problem.blocks)


def load_for(path: str, question: Question) -> Loaded:
    """Read a repair file for one question; InvalidFile where what it needs does not fit."""
    loaded = load(path)
    problems = in_the_way(loaded.repair, question)
    if problems:
        raise InvalidFile([(problem.where, problem.what) for problem in problems])
    return loaded
