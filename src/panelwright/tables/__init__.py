"""Published and agreed tables, each with its source beside it."""

from panelwright.tables.load import Table, load

__all__ = ["Table", "load"]
