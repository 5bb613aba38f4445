"""From values to a page: one template gives the whole page or the part within it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache, partial
from typing import TYPE_CHECKING
from urllib.parse import SplitResult, urlsplit

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

from panelwright.sources import Source, largest, marks
from panelwright.store import Theme
from panelwright.web.drawings import inline
from panelwright.web.forms import Form
from panelwright.web.reads import WORDS
from panelwright.web.shown import REGISTERED
from panelwright.web.visit import There, Visit
from panelwright.web.worded import doubts, on_pages
from panelwright.web.writes import new_key

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from panelwright.facts.problem import Problem
    from panelwright.web.worded import Doubt

HTMX = json.dumps(
    {
        "includeIndicatorCSS": False,
        "history": False,
        "extensions": "sse",
        "morphIgnore": ["data-htmx-powered", "open", "tabindex"],
        "defaultTimeout": 30_000,
    }
)
"""Settings of htmx: no styles of its own, no words evaluated; open details and focus stay."""


@cache
def environment() -> Environment:
    """Give the templates with what all of them use; each is compiled once in a process."""
    made = Environment(
        loader=PackageLoader("panelwright.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["drawing"] = inline
    made.filters["marks"] = marks
    made.filters["on_pages"] = on_pages
    made.globals.update(largest=largest, htmx_settings=HTMX, Source=Source, **REGISTERED)
    return made


def show(visit: Visit, template: str, *, form: Form | None = None, **values: object) -> Response:
    """Answer with a page.

    Parameters
    ----------
    visit : Visit
        Of `Here` or `AtRepair`.
    template : str
        Name of the template; it extends `layout`.
    form : Form or None
        What was sent: with problems the answer has its status, 422 where nobody says otherwise.
    **values : object
        What the template shows.
    """
    sent = form or Form()
    status = 200 if sent.ok else sent.status
    return _answer(
        visit.desk.templates,
        template,
        status,
        {**_common(visit), "form": sent, **values},
        fragment=visit.is_fragment,
    )


def show_plain(
    templates: Environment, template: str, status: int, *, fragment: bool = False, **values: object
) -> Response:
    """Answer with a page that knows neither person nor repair: errors, and who works here."""
    common = {
        "theme": Theme.SYSTEM,
        "person": None,
        "repair": None,
        "name": "",
        "pages": (),
        "path": "",
        "again": "",
        "seq": None,
        "now": datetime.now(UTC),
        "form": Form(),
        "key": "",
        "late": (),
    }
    return _answer(templates, template, status, {**common, **values}, fragment=fragment)


def _answer(
    templates: Environment,
    template: str,
    status: int,
    values: Mapping[str, object],
    *,
    fragment: bool,
) -> Response:
    layout = "fragment.html" if fragment else "base.html"
    made = templates.get_template(template)
    text = made.render({**values, "layout": layout})
    form = values["form"]
    if isinstance(form, Form) and form.lift():
        text = made.render({**values, "layout": layout})
    return HTMLResponse(text, status, headers={"Vary": "HX-Request, Cookie"})


def _page_of(request: Request) -> SplitResult:
    """Give the address of the page: where a form was sent from, not where it was sent to."""
    url = str(request.url)
    sent_from = url if request.method == "GET" else request.headers.get("referer", url)
    try:
        return urlsplit(sent_from)
    except ValueError:  # no browser sends that
        return urlsplit(url)


def _doubts(there: There | None, problems: Sequence[Problem]) -> tuple[Doubt, ...]:
    return doubts(there.known.repair, problems, there.path()) if there else ()


def _common(visit: Visit) -> dict[str, object]:
    there = visit if isinstance(visit, There) else None
    settings = visit.desk.settings
    here = _page_of(visit.request)
    return {
        "theme": visit.person.theme,
        "person": visit.person,
        "units": visit.units,
        "repair": there.known.repair if there else None,
        "known": there.known if there else None,
        "doubts_of": partial(_doubts, there),
        "name": there.name if there else "",
        "when": there.when if there else None,
        "pages": tuple(page for page in visit.desk.pages if page.title),
        "path": here.path,
        "again": f"{here.path}?{here.query}" if here.query else here.path,
        "seq": visit.seq,
        "now": settings.clock(),
        "key": new_key(settings),
        "late": tuple(words for one, (words, _) in WORDS.items() if one in visit.answers.late),
    }
