"""Starting layouts: generic zones of a vehicle, every table of them assumed."""

from panelwright.facts.layouts.library import Layout, facts_of_layout, layout_data, layouts
from panelwright.facts.layouts.sides import Side

__all__ = ["Layout", "Side", "facts_of_layout", "layout_data", "layouts"]
