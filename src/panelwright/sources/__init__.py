"""Where a number came from, and which input its spread comes from."""

from panelwright.sources.figure import Figure
from panelwright.sources.share import Share, largest, standard_uncertainty
from panelwright.sources.source import Basis, Mark, Source, marks, merge

__all__ = [
    "Basis",
    "Figure",
    "Mark",
    "Share",
    "Source",
    "largest",
    "marks",
    "merge",
    "standard_uncertainty",
]
