"""Which metals meet in a joint, and how far apart they stand on the anodic index."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Final

from panelwright.sources import Basis, Mark, Source
from panelwright.tables import load

HARSH_V: Final = 0.15
NORMAL_V: Final = 0.25
CONTROLLED_V: Final = 0.50

# the first that fits; "AlA/St" is judged by the body of the rivet, before the slash
_PATTERNS: Final = (
    ("galvanised", r"(?i:galvani[sz]|zinc.?(coated|plated|nickel|flake))|\+Z\b"),
    ("stainless", r"(?i:stainless)|\bA[24]\b"),
    ("graphite", r"(?i:carbon.?fib|graphite|\bCFRP\b)"),
    ("magnesium", r"(?i:magnesium)"),
    ("titanium", r"(?i:titanium)"),
    ("brass", r"(?i:brass|bronze)"),
    ("copper", r"(?i:copper)"),
    ("nickel", r"(?i:nickel)"),
    ("cast aluminium", r"(?i:cast.*alumin|alumin.*cast)|\bEN ?AC\b"),
    ("aluminium 2000", r"(?i:EN ?AW|AA|alumin\w*)[\s-]*2\d{3}|\b2\d{3}-?T\d"),
    (
        "aluminium",
        r"(?i:alumin)|\bAl[A-Z]?\b|\bAl(Mg|Mn|Si)|\bEN ?AW\b|\bAA ?\d{4}|\b[1-8]\d{3}-?[FOHT]",
    ),
    ("steel", r"(?i:steel|\biron\b)|\bSt\b|\bD[CX]\d\d"),
    ("zinc", r"(?i:zinc)"),
    ("aluminium", r"(?<![\d.])[1-8]\d{3}(?!\d)"),
)


@dataclass(frozen=True)
class Metal:
    """A metal with its place on the anodic index.

    Parameters
    ----------
    key, name : str
        Row of the table, and in words.
    index_V : float
        Anodic index [V]; larger is less noble.
    source : Source
    """

    key: str
    name: str
    index_V: float
    source: Source


@dataclass(frozen=True)
class Pair:
    """Two metals in contact with their distance on the anodic index [V]."""

    one: Metal
    other: Metal

    @property
    def difference_V(self) -> float:
        """Distance on the anodic index [V], to its two decimals."""
        return round(abs(self.one.index_V - self.other.index_V), 2)

    @property
    def matrix_says_incompatible(self) -> bool:
        """Whether the MIL-STD-889 style matrix calls the pair incompatible everywhere."""
        keys = {self.one.key, self.other.key}
        return "aluminium" in keys and bool(
            keys & {"steel", "stainless", "graphite", "zinc", "galvanised"}
        )


@cache
def _metals() -> dict[str, Metal]:
    table = load("anodic_index")
    metals = {}
    for number, record in enumerate(table.records()):
        source = Source(
            Basis.PUBLISHED,
            f"anodic index of {record['name']}: {record['source']}",
            Mark(str(record["mark"])),
        )
        key = str(record["metal"])
        metals[key] = Metal(key, str(record["name"]), table.number(number, "index_V"), source)
    return metals


def metal_by_key(key: str) -> Metal:
    """One row of the table.

    Parameters
    ----------
    key : str
        Its first column.

    Returns
    -------
    Metal

    Raises
    ------
    KeyError
        There is no such row.
    """
    return _metals()[key]


def metal_of(material: str | None) -> Metal | None:
    """The metal that a designation means.

    Parameters
    ----------
    material : str or None
        Designation such as ``EN AW-6016-T4``, ``galvanised steel`` or, of a rivet, ``AlA/St``:
        body before mandrel.

    Returns
    -------
    Metal or None
        None where the words name no metal of the table.
    """
    body = re.split(r"/|\bwith\b|\bmandrel\b", material or "", maxsplit=1)[0]
    for key, pattern in _PATTERNS:
        if re.search(pattern, body):
            return _metals()[key]
    return None


def farthest_pair(metals: tuple[Metal, ...]) -> Pair | None:
    """The two metals that stand farthest apart.

    Parameters
    ----------
    metals : tuple of Metal

    Returns
    -------
    Pair or None
        None with fewer than two.
    """
    pairs = [
        Pair(one, other) for number, one in enumerate(metals) for other in metals[number + 1 :]
    ]
    return max(pairs, key=lambda pair: pair.difference_V, default=None)
