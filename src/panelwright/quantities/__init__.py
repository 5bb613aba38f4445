"""Units in and out: what people type becomes exact values, and values become words."""

from panelwright.quantities.display import (
    Units,
    show_area,
    show_force,
    show_fraction,
    show_length,
    show_length_with_u,
    show_minutes,
    show_power,
    show_stress,
    show_temperature,
    show_volume,
)
from panelwright.quantities.kinds import (
    Area,
    Duration,
    Force,
    Length,
    Power,
    Stress,
    Temperature,
    Volume,
)
from panelwright.quantities.quantity import Quantity
from panelwright.quantities.sentence import in_units

__all__ = [
    "Area",
    "Duration",
    "Force",
    "Length",
    "Power",
    "Quantity",
    "Stress",
    "Temperature",
    "Units",
    "Volume",
    "in_units",
    "show_area",
    "show_force",
    "show_fraction",
    "show_length",
    "show_length_with_u",
    "show_minutes",
    "show_power",
    "show_stress",
    "show_temperature",
    "show_volume",
]
