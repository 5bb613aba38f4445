"""How do I prove it, and what does paint need to know? The job file as PDF."""

from panelwright.record.answer import Answers, Options, Packet, Paper, Unanswered
from panelwright.record.drawings import warm_up
from panelwright.record.gather import gather, supplement
from panelwright.record.packet import record

__all__ = [
    "Answers",
    "Options",
    "Packet",
    "Paper",
    "Unanswered",
    "gather",
    "record",
    "supplement",
    "warm_up",
]
