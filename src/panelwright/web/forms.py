"""A form as it was sent: values are kept, and each field's problem is a sentence."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Annotated, TypeVar

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile

from panelwright.errors import QuantityError
from panelwright.quantities import Length, Quantity, Temperature, Units

Q = TypeVar("Q", bound=Quantity)

MOST_TEXT = 4000
MOST_MM = 20_000.0
"""Longer than any vehicle that is repaired in a bay. Common practice, no source."""
LEAST_C, MOST_C = -40.0, 250.0
"""Below any bay, and above any paint oven and lamp. Common practice, no source."""
_BARE = frozenset("0123456789./+-,' \u2044")


@dataclass
class Form:
    """What was typed, and what is wrong with it.

    Attributes
    ----------
    values : dict
        By field, as typed; an empty form has none.
    problems : dict
        By field; the field "" is the form as a whole.
    status : int
        Of the answer where there are problems.
    name : str
        Of the form on a page with several: its hidden field ``form-name``. It must not be called
        ``form``: a field of that name hides the form from scripts.
    """

    values: dict[str, str] = field(default_factory=dict)
    files: dict[str, UploadFile] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
    status: int = 422
    shown: set[str] = field(default_factory=set)

    @property
    def name(self) -> str:
        """Give which form of the page this is."""
        return self.values.get("form-name") or self.values.get("form", "")

    @property
    def key(self) -> str:
        """Give the hidden key from which the ids of its facts are made."""
        return self.values.get("key", "")

    @property
    def ok(self) -> bool:
        """Tell whether nothing is wrong so far."""
        return not self.problems

    def value(self, name: str, default: str = "") -> str:
        """Give what was typed, for showing it again."""
        return self.values.get(name, default)

    def problem(self, name: str) -> str:
        """Give what is wrong with a field, for showing it; empty where nothing is."""
        self.shown.add(name)
        return self.problems.get(name, "")

    def lift(self) -> bool:
        """Say at the top what no field showed; tell whether there was any such problem."""
        unseen = [name for name in self.problems if name not in self.shown]
        words = [self.problems.pop(name) for name in unseen]
        if words:
            self.problems[""] = " ".join([*filter(None, [self.problems.get("")]), *words])
        return bool(words)

    def wrong(self, name: str, words: str) -> None:
        """Say what is wrong with a field; the first problem of a field stays."""
        self.problems.setdefault(name, words)

    def text(self, name: str, *, need: str = "", most: int = MOST_TEXT) -> str | None:
        """Give a text; `need` is the sentence where it is missing, empty: it may be."""
        text = self.values.get(name, "").strip()
        if not text:
            if need:
                self.wrong(name, need)
            return None
        if len(text) > most:
            self.wrong(name, f"This is too long: {len(text)} letters, at most {most}.")
            return None
        return text

    def choice(self, name: str, among: Iterable[str], *, need: str = "Choose one.") -> str | None:
        """Give one of several words; `need` as for `text`."""
        text = self.text(name, need=need)
        if text is not None and text not in set(among):
            self.wrong(name, f"{text[:60]!r} is not one of the choices here.")
            return None
        return text

    def length(self, name: str, units: Units, *, need: str = "") -> str | None:
        """Give a length as it goes into a fact: as typed, with the person's unit behind it."""
        return self._quantity(name, Length, units.value, need)

    def lengths(self, name: str, units: Units) -> list[str]:
        """Give several lengths, between them semicolons, or commas followed by a space."""
        text = self.text(name) or ""
        typed = [one.strip() for one in re.split(r"[;\n]|,\s+", text) if one.strip()]
        found = [self.as_length(name, one, units) for one in typed]
        return [one for one in found if one is not None]

    def as_length(self, name: str, text: str, units: Units) -> str | None:
        """Give a part of a field as a length; what is wrong with it is said at the field."""
        typed = f"{text} {units.value}" if set(text) <= _BARE else text
        try:
            said = Length.parse(typed)
        except QuantityError as error:
            self.wrong(name, f"{error}.")
            return None
        return self._believed(name, typed, said)

    def temperature(self, name: str, units: Units, *, need: str = "") -> str | None:
        """Give a temperature as it goes into a fact, with °C or °F behind it."""
        return self._quantity(name, Temperature, "°C" if units is Units.MM else "°F", need)

    def _quantity(self, name: str, kind: type[Q], unit: str, need: str) -> str | None:
        text = self.text(name, need=need, most=60)
        if text is None:
            return None
        typed = f"{text} {unit}" if set(text) <= _BARE else text
        try:
            said = kind.parse(typed)
        except QuantityError as error:
            self.wrong(name, f"{error}.")
            return None
        return self._believed(name, typed, said)

    def _believed(self, name: str, typed: str, said: Quantity) -> str | None:
        """Give what was typed back, or say why nothing at a vehicle can be so."""
        if isinstance(said, Length) and abs(said.mm) > MOST_MM:
            self.wrong(
                name, f"{typed!r}: nothing at a vehicle is longer than 20 m; look at the unit."
            )
            return None
        if isinstance(said, Temperature) and not LEAST_C <= said.celsius <= MOST_C:
            words = "no bay, panel or oven is so; expected -40 °C to 250 °C."
            self.wrong(name, f"{typed!r}: {words}")
            return None
        return typed

    def number(self, name: str, *, least: float, most: float, need: str = "") -> float | None:
        """Give a plain number within its range."""
        text = self.text(name, need=need, most=30)
        if text is None:
            return None
        try:
            value = float(text)
        except ValueError:
            value = least - 1
        if not least <= value <= most:
            self.wrong(name, f"{text!r}: expected a number from {least:g} to {most:g}.")
            return None
        return value

    def moment(
        self, name: str, zone_now: datetime, *, need: str = "", second: bool = False
    ) -> str | None:
        """Give a moment as RFC 3339 text from a field of date and time without offset.

        Where the clock showed it twice, the first is taken, or the second; a time that the clock
        jumped over is refused.
        """
        text = self.text(name, need=need, most=40)
        if text is None:
            return None
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.wrong(name, f"{text!r} is no date and time; write it as 2026-11-20T13:05.")
            return None
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=zone_now.tzinfo, fold=int(second))
            if _jumped(moment):
                self.wrong(
                    name,
                    f"{text[-5:]} was never on the clock that night: it was put forward. Give the "
                    "time that the clock showed.",
                )
                return None
        return moment.isoformat()


def _jumped(moment: datetime) -> bool:
    """Tell whether the clock never showed this moment: summer time began over it."""
    try:
        shown = moment.astimezone(UTC).astimezone(moment.tzinfo)
    except OverflowError:
        return False
    return shown.replace(tzinfo=None) != moment.replace(tzinfo=None, fold=0)


def shown_twice(moment: datetime, zone_now: datetime) -> bool:
    """Tell whether the shop's clock showed this time twice that night: summer time ended."""
    local = moment.astimezone(zone_now.tzinfo)
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def form_of(data: FormData) -> Form:
    """Give a form of what was sent."""
    form = Form()
    for name, value in data.multi_items():
        if isinstance(value, str):
            form.values[name] = value
        else:
            form.files[name] = value
    return form


async def _sent(request: Request) -> AsyncIterator[Form]:
    async with request.form(max_files=20, max_fields=500) as data:
        yield form_of(data)


Sent = Annotated[Form, Depends(_sent)]
"""For handlers of POST: the form."""


def empty(values: Mapping[str, str] | None = None) -> Form:
    """Give a form that was not sent yet, filled with these values."""
    return Form(values=dict(values or {}))
