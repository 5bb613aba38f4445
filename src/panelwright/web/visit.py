"""Who asks, and for which repair: what every page handler is given."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated
from urllib.parse import quote, unquote

from fastapi import Depends, Request

from panelwright.quantities import Units
from panelwright.record.when import When
from panelwright.store import Person, Store
from panelwright.web.answers import PATIENCE_S, Answers
from panelwright.web.crowd import Place
from panelwright.web.desk import Desk
from panelwright.web.known import Known

COOKIE = "panelwright-person"


class NobodyError(Exception):
    """The browser has not said who uses it; it is asked first."""


def desk_of(request: Request) -> Desk:
    """Give what the application was made with."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)  # noqa: S101 - set by create_app
    return desk


@dataclass(frozen=True)
class Visit:
    """A request of somebody.

    Attributes
    ----------
    person : Person
        With units and theme.
    seq : int
        Global number of the last fact when the page was made; the stream goes on from there.
    """

    request: Request
    desk: Desk
    person: Person
    seq: int = 0

    @property
    def units(self) -> Units:
        """Give the units that this person reads."""
        return self.person.units

    @property
    def store(self) -> Store:
        """Give the store."""
        return self.desk.store

    @cached_property
    def answers(self) -> Answers:
        """Give the rooms: a page that is only shown does not wait for the newest for long."""
        if self.request.method != "GET":
            return self.desk.answers
        place: Place | None = self.request.scope.get("place")
        if place is None:
            return self.desk.answers.hurried()
        patience_s = 0.0 if place.others_wait else PATIENCE_S
        return self.desk.answers.hurried(patience_s, place.step_aside)

    @property
    def is_fragment(self) -> bool:
        """Tell whether only the inner part of the page is wanted."""
        return self.request.headers.get("hx-request") == "true"


@dataclass(frozen=True)
class There(Visit):
    """A request about one repair."""

    known: Known = field(kw_only=True)

    @property
    def name(self) -> str:
        """Give the repair's name."""
        return self.known.name

    @property
    def when(self) -> When:
        """Say moments on the shop's clock."""
        return When.of(self.known.repair.shop.zone)

    def path(self, page: str = "") -> str:
        """Give the address of one of the repair's pages."""
        return f"/repairs/{self.name}/{page}" if page else f"/repairs/{self.name}"


def named_in(request: Request) -> str:
    """Give the name that the browser's cookie holds; empty without one."""
    return unquote(request.cookies.get(COOKIE, ""))


def cookie_of(name: str) -> str:
    """Give the cookie's value for a name."""
    return quote(name, safe="")


def person_of(request: Request, desk: Desk) -> Person | None:
    """Give who uses the browser, if that was said."""
    name = named_in(request)
    if not name:
        return None
    return next((person for person in desk.store.people() if person.name == name), None)


def _visit(request: Request) -> Visit:
    desk = desk_of(request)
    person = person_of(request, desk)
    if person is None:
        raise NobodyError
    return Visit(request, desk, person, desk.store.last_seq())


Here = Annotated[Visit, Depends(_visit)]
"""For pages about no repair: who asks."""


def _there(name: str, request: Request) -> There:
    visit = _visit(request)  # not asked for: each that is takes a thread of its own in turn
    known = visit.answers.known(name)
    return There(visit.request, visit.desk, visit.person, visit.seq, known=known)


AtRepair = Annotated[There, Depends(_there)]
"""For pages under ``/repairs/{name}``: who asks, and the repair as it is known now."""
