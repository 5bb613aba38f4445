"""A source: on whose word a number stands."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Basis(StrEnum):
    """On what kind of word a number stands, strongest first."""

    PROCEDURE = "procedure"
    DATA_SHEET = "data sheet"
    STANDARD = "standard"
    PUBLISHED = "published"
    MEASURED = "measured"
    SHOP = "shop setting"
    PRACTICE = "common practice"
    PROPOSAL = "proposal"


class Mark(StrEnum):
    """How the source was read."""

    SEEN = "seen"
    MEMORY = "from memory"
    NONE = ""


@dataclass(frozen=True, order=True)
class Source:
    """One source of a number.

    Parameters
    ----------
    basis : Basis
        On whose word the number stands.
    text : str
        Publication, clause, edition, file key or reading, in words.
    mark : Mark, default NONE
        Whether a publication was seen or recalled from memory.
    """

    basis: Basis
    text: str
    mark: Mark = Mark.NONE

    @property
    def travelling_marks(self) -> tuple[str, ...]:
        """Words that stay with every number derived from this source."""
        words = []
        if self.basis is Basis.PROPOSAL:
            words.append("proposal")
        if self.basis is Basis.PRACTICE:
            words.append("common practice, no source")
        if self.mark is Mark.MEMORY:
            words.append("from memory")
        return tuple(words)

    def __str__(self) -> str:
        """Say the source as it stands in a list of sources."""
        mark = f" [{self.mark}]" if self.mark is not Mark.NONE else ""
        return f"{self.basis}: {self.text}{mark}"


def merge(*groups: Iterable[Source]) -> tuple[Source, ...]:
    """All sources of several results, each once, in order of first use."""
    return tuple(dict.fromkeys(source for group in groups for source in group))


def marks(sources: Iterable[Source]) -> tuple[str, ...]:
    """The marks that a result with these sources must show, each once."""
    return tuple(dict.fromkeys(word for source in sources for word in source.travelling_marks))
