"""What must come off, what may hide behind it."""

from panelwright.teardown.question import answer

__all__ = ["answer"]
