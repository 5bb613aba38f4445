"""The repair file's JSON Schema, made from the models that validate it."""

from __future__ import annotations

from panelwright.facts.models.document import Document


def schema() -> dict[str, object]:
    """JSON Schema (2020-12) of a repair file."""
    whole: dict[str, object] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Panelwright repair file, format 1",
    }
    return Document.model_json_schema(by_alias=True) | whole
