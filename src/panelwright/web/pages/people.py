"""Who works here: a browser says once who uses it, and how that person reads lengths."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from panelwright.errors import StoreError
from panelwright.quantities import Units
from panelwright.store import Person, Theme
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show_plain
from panelwright.web.visit import COOKIE, cookie_of, desk_of, person_of
from panelwright.web.writes import local, see

router = APIRouter()
PAGE = Page("people", "", 900, router)

A_YEAR_S = 366 * 86_400
UNITS = ((Units.MM, "millimetres, °C"), (Units.IN, "inches, °F"))
THEMES = ((Theme.SYSTEM, "as the device"), (Theme.LIGHT, "light"), (Theme.DARK, "dark"))


@router.get("/people")
def people(request: Request, then: str = "/") -> Response:
    """Show who works here, and the settings of who uses this browser."""
    return _page(request, Form(), local(then))


def _page(request: Request, form: Form, then: str) -> Response:
    desk = desk_of(request)
    person = person_of(request, desk)
    return show_plain(
        desk.templates,
        "people.html",
        200 if form.ok else form.status,
        fragment=request.headers.get("hx-request") == "true",
        heading="Who works here",
        people=desk.store.people(),
        person=person,
        theme=person.theme if person else Theme.SYSTEM,
        path="/people",
        form=form,
        then=then,
        unit_choices=UNITS,
        theme_choices=THEMES,
    )


@router.post("/people")
def say(request: Request, form: Sent) -> Response:
    """Take a name, new or known, or the settings of the person."""
    desk = desk_of(request)
    then = local(form.value("then"))
    known = {person.name: person for person in desk.store.people()}
    name = form.text("name", need="Write your name.", most=200)
    if name is not None and not name.isprintable():
        form.wrong("name", "Write the name with letters that can be seen.")
    units = form.choice("units", [u.value for u in Units], need="")
    theme = form.choice("theme", [t.value for t in Theme], need="")
    if not form.ok or name is None:
        return _page(request, form, then)
    before = known.get(name, Person(name))
    person = Person(
        name,
        Units(units) if units else before.units,
        Theme(theme) if theme else before.theme,
    )
    if known.get(name) != person:
        try:
            desk.store.remember(person)
        except StoreError as error:
            form.wrong("", f"{error}.")
            form.status = 503
            return _page(request, form, then)
    answer = see(then)
    answer.set_cookie(
        COOKIE, cookie_of(name), max_age=A_YEAR_S, httponly=True, samesite="strict", path="/"
    )
    return answer
