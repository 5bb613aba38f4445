"""Sources at the end of the job file, and the small marks that lead there."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panelwright.sources import Basis, Mark, Source, marks

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

LETTERS = {"proposal": "p", "from memory": "m", "common practice, no source": "c"}
"""The letter that stands beside a number for each travelling mark."""

MOST_LINKS = 5
"""Links beside one number; which sources a result used in all, its room's own answer says."""

LEGEND = "p proposal · m from memory · c common practice, no source · [1] source, last pages"


_KEY = re.compile(r"\[\[(?P<table>\w+)\]\] ")
_OLD_STRENGTH = re.compile(r"old\.strength of joint .*, as the file gives it")
_OF_A_JOINT = re.compile(r", joint [^,;]*$")


def worded(source: Source) -> Source:
    """A source as a person would name it: no keys of the file, one line for all joints.

    >>> worded(Source(Basis.DATA_SHEET, "[[rivet]] R1: rivet sheet")).text
    'rivet R1: rivet sheet'
    """
    text = _KEY.sub(lambda found: f"{found['table']} ", source.text)
    text = _OLD_STRENGTH.sub("strength of the old fasteners, as the file gives it", text)
    if source.basis is Basis.PROCEDURE:
        text = _OF_A_JOINT.sub("", text)
    return Source(source.basis, text, source.mark)


@dataclass
class Notes:
    """Numbers the sources in the order in which the pages use them."""

    numbers: dict[Source, int] = field(default_factory=dict)

    def number(self, source: Source) -> int:
        """The number of a source, given on first use."""
        return self.numbers.setdefault(worded(source), len(self.numbers) + 1)

    @property
    def listed(self) -> tuple[Source, ...]:
        """Every source used so far, by number."""
        return tuple(self.numbers)


@dataclass(frozen=True)
class Reference:
    """One link to the list of sources: a number, or a run of them."""

    first: int
    label: str


def references(numbers: Iterable[int]) -> tuple[Reference, ...]:
    """Links for several numbers, runs of three and more drawn together."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    found: list[Reference] = []
    for run in runs:
        if len(run) >= 3:
            found.append(Reference(run[0], f"{run[0]}–{run[-1]}"))
        else:
            found += [Reference(number, str(number)) for number in run]
    return tuple(found)


def shortened(links: tuple[Reference, ...]) -> tuple[Reference, ...]:
    """Few enough links to stand beside a number; the last says that there are more."""
    if len(links) <= MOST_LINKS:
        return links
    return (*links[: MOST_LINKS - 1], Reference(links[MOST_LINKS - 1].first, "…"))


def usual(groups: Sequence[tuple[Source, ...]]) -> tuple[Source, ...]:
    """The sources that most lines of a list stand on: said once above it, not at each line."""
    counts = Counter(group for group in groups if group)
    if not counts:
        return ()
    group, count = counts.most_common(1)[0]
    return group if count > len(groups) / 3 else ()


def letters(sources: Iterable[Source]) -> str:
    """The letters of the marks that travel with these sources."""
    return "".join(LETTERS[word] for word in marks(sources))


_BASES = "|".join(re.escape(basis.value) for basis in Basis)
_SPOKEN = re.compile(
    rf"(?P<basis>{_BASES}): (?P<text>.*?)(?: \[(?P<mark>seen|from memory)\])?"
    rf"(?=$|; (?:{_BASES}): )"
)


def read_sources(words: str) -> tuple[tuple[Source, ...], str]:
    """Sources that a room said as text, and what is left where the text is none.

    >>> read_sources("standard: EN 1999-1-1 Table 8.2 [from memory]")[0][0].text
    'EN 1999-1-1 Table 8.2'
    """
    found = [
        Source(
            Basis(match["basis"]),
            match["text"],
            Mark(match["mark"]) if match["mark"] else Mark.NONE,
        )
        for match in _SPOKEN.finditer(words)
    ]
    return (tuple(found), "") if found else ((), words)
