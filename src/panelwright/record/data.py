"""The document as plain data for the typesetter: strings cleaned, sources numbered."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias

from panelwright.record.blocks import Document, Figure, Said
from panelwright.record.glyphs import breakable, missing, shown
from panelwright.record.notes import LEGEND, Notes, letters, references, shortened

Data: TypeAlias = "bool | int | float | str | list[Data] | dict[str, Data] | None"


@dataclass
class Writer:
    """Turns blocks into data; remembers sources and characters that had to be replaced."""

    notes: Notes = field(default_factory=Notes)
    replaced: dict[str, None] = field(default_factory=dict)

    def text(self, text: str) -> str:
        """A text as it is shown."""
        self.replaced.update(dict.fromkeys(c for c in missing(text) if c not in "\t\r"))
        return breakable(shown(text))

    def said(self, said: Said) -> Data:
        """A text with its letters and its links to the sources."""
        numbers = [self.notes.number(source) for source in said.sources]
        return {
            "text": self.text(said.text),
            "strong": said.strong,
            "tone": said.tone.value,
            "marks": letters(said.sources),
            "notes": [
                {"first": reference.first, "label": reference.label}
                for reference in shortened(references(numbers))
            ],
        }

    def figure(self, figure: Figure) -> Data:
        """A drawing; its text is cleaned but never broken."""
        self.replaced.update(dict.fromkeys(missing(figure.svg)))
        return {
            "kind": "Figure",
            "svg": shown(figure.svg),
            "caption": self.said(figure.caption),
            "width_mm": figure.width_mm,
            "height_mm": figure.height_mm,
            "alt": self.text(figure.alt),
        }

    def data(self, value: object) -> Data:
        """Any block or part of one."""
        if isinstance(value, Said):
            return self.said(value)
        if isinstance(value, Figure):
            return self.figure(value)
        if isinstance(value, tuple):
            return [self.data(item) for item in value]
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            fields = {f.name: self.data(getattr(value, f.name)) for f in dataclasses.fields(value)}
            return {"kind": type(value).__name__, **fields}
        return self._plain(value)

    def _plain(self, value: object) -> Data:
        if isinstance(value, Enum):
            return str(value.value)
        if isinstance(value, str):
            return self.text(value)
        if value is None or isinstance(value, bool | int | float):
            return value
        raise TypeError(f"{value!r} cannot stand in a job file")


def written(document: Document, writer: Writer, paper: str) -> Data:
    """The document as data, with the list of its sources at the end."""
    body = writer.data(document)
    sources: list[Data] = [
        {
            "number": number,
            "basis": source.basis.value,
            "text": writer.text(source.text),
            "mark": source.mark.value,
        }
        for number, source in enumerate(writer.notes.listed, start=1)
    ]
    return {
        "paper": paper,
        "document": body,
        "sources": sources,
        "legend": LEGEND,
        "replaced": [f"U+{ord(c):04X}" for c in writer.replaced],
    }
