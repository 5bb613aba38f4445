"""Fit: whether a part is where it belongs, and if not, which way to move it."""

from panelwright.fit.answer import Answer
from panelwright.fit.published import as_json
from panelwright.fit.question import answer

__all__ = ["Answer", "answer", "as_json"]
