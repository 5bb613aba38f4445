"""How do I prove it, and what does paint need to know? The job file as PDF."""

from panelwright.record.answer import (
    Answers,
    Change,
    Options,
    Packet,
    Paper,
    SupplementSheet,
    Unanswered,
)
from panelwright.record.gather import gather
from panelwright.record.packet import record

__all__ = [
    "Answers",
    "Change",
    "Options",
    "Packet",
    "Paper",
    "SupplementSheet",
    "Unanswered",
    "gather",
    "record",
]
