"""Panelwright: from facts about a crash-damaged aluminium panel to every answer."""

__version__ = "0.1.0"
