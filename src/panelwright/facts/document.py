"""From a repair file to facts and back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright.errors import InvalidFile
from panelwright.facts.canonical import canonical
from panelwright.facts.entry import Fact
from panelwright.facts.file import document_from, tables_of
from panelwright.facts.identity import WHEN_NOT_SAID, id_of_content
from panelwright.facts.kinds import body_of, kinds, table_of
from panelwright.facts.toml_text import toml_text

if TYPE_CHECKING:
    from panelwright.facts.fold import Folded

FORMAT = 1


def facts_of(data: Mapping[str, object], *, person: str) -> tuple[Fact, ...]:
    """Give the facts of a repair file, the same every time for the same file.

    Parameters
    ----------
    data : mapping
        The tables as TOML gives them.
    person : str
        Who imports the file.

    Returns
    -------
    tuple of Fact
        In the order of the file; ids come from what the tables say, times from when the repair
        was opened (2000-01-01 where the file does not say).

    Raises
    ------
    InvalidFile
        Where the models refuse the file, or a value cannot be written as JSON.
    """
    opened = document_from(data).repair.opened or WHEN_NOT_SAID
    seen: Counter[bytes] = Counter()
    facts: list[Fact] = []
    for where, kind, table in _tables(data):
        try:
            facts.append(_fact(kind, table, seen, opened=opened, person=person))
        except ValueError as error:
            raise InvalidFile([(where, f"this cannot be kept: {error}")]) from error
    return tuple(facts)


def _fact(
    kind: str,
    table: Mapping[str, object],
    seen: Counter[bytes],
    *,
    opened: datetime,
    person: str,
) -> Fact:
    body = body_of(table)
    content = canonical([kind, body])
    identity = id_of_content(opened, kind=kind, body=body, occurrence=seen[content])
    seen[content] += 1
    return Fact(
        id=identity,
        kind=kind,
        version=kinds()[kind].version,
        body=body,
        observed_at=opened,
        recorded_at=opened,
        person=person,
    )


def _tables(data: Mapping[str, object]) -> Iterable[tuple[str, str, Mapping[str, object]]]:
    """Give place, kind and content of each table in the order of the file."""
    for kind, value in data.items():
        if kind not in kinds():
            continue
        if isinstance(value, Mapping):
            yield kind, kind, value
        elif isinstance(value, list | tuple):
            for number, table in enumerate(value):
                yield f"{kind}[{number}]", kind, table


def facts_of_text(text: str, *, person: str) -> tuple[Fact, ...]:
    """Give the facts of a repair file's TOML text; see `facts_of`."""
    return facts_of(tables_of(text), person=person)


def data_of(facts: Iterable[Fact]) -> dict[str, object]:
    """Give the tables of a repair file that facts of its kinds make up, in the file's order."""
    data: dict[str, object] = {"format": FORMAT}
    tables: dict[str, list[dict[str, object]]] = {name: [] for name in kinds()}
    for fact in facts:
        tables[fact.kind].append(table_of(fact.kind, fact.body))
    for name, kind in kinds().items():
        if tables[name]:
            data[name] = tables[name][-1] if kind.single else tables[name]
    return data


def document_of(folded: Folded) -> dict[str, object]:
    """Give the tables of the repair file that a folded log stands for.

    What was withdrawn, and what was left out because it does not fit its table, is not in it;
    neither are the comments of a file that was imported.
    """
    return data_of(folded.facts)


def text_of(folded: Folded) -> str:
    """Give the repair file that a folded log stands for, as TOML text."""
    return toml_text(document_of(folded))
