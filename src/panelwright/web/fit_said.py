"""From the form of one reading to its table."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from panelwright.quantities import Length, Units
from panelwright.web.fit_targets import Read, Target
from panelwright.web.fit_ways import Way, ways_of

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.web.forms import Form

GAP_WORDS = (("tight", "tight"), ("ok", "ok"), ("wide", "wide"))
FLUSH_WORDS = (("low", "low"), ("ok", "ok"), ("high", "high"))
FIRST, ALIKE, SECOND = "first", "alike", "second"
SEATED, FORCED, OPEN = "seated", "forced", "open"
ALIGNED, OFF = "aligned", "off"
NOT_READ = "-"
"""Stands for a gap or flush that is not checked."""

Body = dict[str, object]


def body_of(form: Form, target: Target, repair: Repair, units: Units) -> Body:
    """Give what a form says of a target; its problems are noted in the form."""
    read: Mapping[Read, Callable[[], Body]] = {
        Read.SPAN: lambda: _span(form, target, units),
        Read.COMPARE: lambda: _compare(form, target, units),
        Read.HEIGHT: lambda: _height(form, target, units),
        Read.STATION: lambda: _station(form, target, units),
        Read.CONTACT: lambda: _contact(form, target, units),
        Read.LOCATOR: lambda: _locator(form, target, repair, units),
    }
    return read[target.kind]()


def _span(form: Form, target: Target, units: Units) -> Body:
    value = form.length("value", units, need="Type what it shows.")
    if value is not None and Length.parse(value).mm <= 0:
        form.wrong("value", f"{value}: a span is more than zero.")
    return {"from": target.names[0], "to": target.names[1], "value": value}


def _compare(form: Form, target: Target, units: Units) -> Body:
    a, b, c, d = target.names
    longer = form.choice("longer", (FIRST, ALIKE, SECOND), need="Choose which one is longer.")
    difference = _amount(form, "difference", units)
    if longer in (FIRST, SECOND) and difference is None:
        form.wrong("difference", "Type by how much it is longer.")
    if longer == ALIKE and difference is not None and Length.parse(difference).mm != 0:
        form.wrong("difference", "Alike, and a difference: choose which one is longer.")
    if longer == ALIKE:
        difference = f"0 {units.value}"
    elif longer == SECOND and difference is not None:
        difference = f"-{difference}"
    return {"compare": [[a, b], [c, d]], "difference": difference}


def _height(form: Form, target: Target, units: Units) -> Body:
    height = form.length("height", units, need="Type how high it is above the zero plane.")
    return {"point": target.names[0], "height": height}


def _station(form: Form, target: Target, units: Units) -> Body:
    """Take words or numbers; a number says more than a word."""
    form.values.setdefault("gap", form.value("said_gap"))
    words = {word for word, _ in GAP_WORDS}
    gap = form.value("gap") if form.value("gap") in words else _number(form, "gap", units)
    gap = gap or form.choice("gap_word", words, need="")
    flush_words = [word for word, _ in FLUSH_WORDS] + [NOT_READ]
    flush_word = form.choice("flush_word", flush_words, need="")
    flush = form.length("flush", units) or (flush_word if flush_word != NOT_READ else None)
    if flush is None and form.ok and (gap is None or flush_word is None):
        form.wrong("flush", "Type the flush, or tap a word.")
    return {"station": target.names[0], "gap": gap, "flush": flush}


def _number(form: Form, name: str, units: Units) -> str | None:
    return None if form.value(name) == NOT_READ else form.length(name, units)


def _contact(form: Form, target: Target, units: Units) -> Body:
    lift = _amount(form, "lift", units)
    state = form.choice("state", (SEATED, FORCED, OPEN), need="")
    if state is None and lift is None:
        form.wrong("lift", "Type by how much it is open, or tap seated or forced shut.")
    state = state or OPEN
    if state == OPEN and lift is None:
        form.wrong("lift", "Type by how much it is open.")
    return {
        "contact": target.names[0],
        "state": state,
        "lift": lift if state == OPEN else None,
    }


def _locator(form: Form, target: Target, repair: Repair, units: Units) -> Body:
    name = target.names[0]
    if form.value("state") == ALIGNED:
        return {"locator": name, "state": ALIGNED}
    locator = next(one for one in repair.locators if one.id == name)
    along, across = ways_of(locator)
    off = [_off(form, "along", along, units), _off(form, "across", across, units)]
    if form.ok and all(one is None for one in off):
        form.wrong("along", "Type by how much it is off, or tap aligned.")
    return {"locator": name, "state": OFF, "off": [one or f"0 {units.value}" for one in off]}


def _off(form: Form, name: str, way: Way, units: Units) -> str | None:
    amount = _amount(form, name, units)
    towards = form.choice(f"{name}_way", (way.plus, way.minus), need="")
    if amount is None or Length.parse(amount).mm == 0:
        return amount
    if towards is None:
        form.wrong(f"{name}_way", f"Choose {way.plus} or {way.minus}.")
    return f"-{amount}" if towards == way.minus else amount


def _amount(form: Form, name: str, units: Units) -> str | None:
    """Give a length without sign: the way is chosen by a word."""
    amount = form.length(name, units)
    if amount is not None and Length.parse(amount).mm < 0:
        form.wrong(name, "Without a sign, please: the way is chosen by a word.")
    return amount
