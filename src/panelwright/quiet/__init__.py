"""Will it drum: pads, damping, pattern and sheets."""

from panelwright.quiet.question import answer

__all__ = ["answer"]
