"""Lengths in fields: how one stands there, and that nothing is lost where it was left alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import Length, Units, show_fraction, show_length

if TYPE_CHECKING:
    from panelwright.web.forms import Form


def shown(value: object, units: Units) -> str:
    """Give a length as it stands in a field, without its unit; empty where there is none.

    Examples
    --------
    >>> shown("5 mm", Units.MM), shown("12.7 mm", Units.IN)
    ('5', '1/2')
    """
    if value is None:
        return ""
    length = value if isinstance(value, Length) else Length.parse(value)
    if units is Units.IN:
        return show_fraction(length.mm, 64).removesuffix(" in")
    return show_length(length.mm, units).removesuffix(" mm").removesuffix(".0")


def length_of(
    form: Form, name: str, units: Units, before: object = None, *, need: str = ""
) -> object:
    """Give a field's length; what was said before where the field still shows that.

    A field shows a length rounded: left alone, it must not become what it shows.
    """
    typed = form.length(name, units, need=need)
    if typed is None or before is None:
        return typed
    return before if form.value(name).strip() == shown(before, units) else typed


def above_nought(form: Form, name: str, value: object) -> None:
    """Say at a field that a length must be more than zero."""
    if value is not None and Length.parse(value).mm <= 0:
        form.wrong(name, f"{value}: more than zero, please.")
