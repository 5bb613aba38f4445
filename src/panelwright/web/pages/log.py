"""The log: every fact, who said it and when; withdraw with reason."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from fastapi import APIRouter
from starlette.responses import Response

from panelwright.facts.entry import Entry
from panelwright.facts.kinds import WITHDRAWN
from panelwright.facts.toml_text import inline
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.writes import save, withdrawal

if TYPE_CHECKING:
    from panelwright.record.when import When

router = APIRouter()
PAGE = Page("log", "Log", 110, router)

AT_ONCE = 100
MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)")
"""A moment with its offset, as facts hold it."""


@dataclass(frozen=True)
class Line:
    """An entry of the log as the page shows it."""

    number: int
    id: str
    kind: str
    words: str
    person: str
    at: datetime
    withdrawn: bool
    problems: tuple[str, ...]


@router.get("/repairs/{name}/log")
def log(there: AtRepair, before: int | None = None) -> Response:
    """Show the newest facts first."""
    return page(there, Form(), before)


def page(there: There, form: Form, before: int | None = None) -> Response:
    """Show the page; `before` is the number of the first entry that is not shown again."""
    entries = there.known.log.entries
    end = len(entries) if before is None else max(0, min(before, len(entries)))
    shown = range(end - 1, max(end - AT_ONCE, 0) - 1, -1)
    return show(
        there,
        "log.html",
        form=form,
        heading="Log",
        lines=[_line(there, number, entries[number]) for number in shown],
        total=len(entries),
        more=max(end - AT_ONCE, 0),
        head=there.known.log.head,
    )


def _line(there: There, number: int, entry: Entry) -> Line:
    fact = entry.fact
    place = f"{fact.kind} {fact.id}"
    return Line(
        number=number,
        id=str(fact.id),
        kind=fact.kind,
        words=words_of(fact.kind, fact.body, there.known.log.by_id, there.when),
        person=fact.person,
        at=fact.recorded_at,
        withdrawn=fact.id in there.known.folded.withdrawn,
        problems=tuple(p.what for p in there.known.folded.problems if p.where.startswith(place)),
    )


def words_of(kind: str, body: object, by_id: object, when: When) -> str:
    """Say a fact's table in one line: what it says, then who says so and when."""
    told = dict(body) if isinstance(body, Mapping) else {}
    if kind == WITHDRAWN and isinstance(by_id, dict):
        target = by_id.get(_uuid(str(told.get("id", ""))))
        what = (
            f"{target.kind}: {words_of(target.kind, target.body, by_id, when)}" if target else "?"
        )
        return f"takes back {what} – {told.get('reason', '')}"
    last = [f"{key} {_value(told.pop(key), when)}" for key in ("by", "at") if key in told]
    first = [f"{key} {_value(value, when)}" for key, value in told.items()]
    return " · ".join([*first, " ".join(last)] if last else first)


def _value(value: object, when: When) -> str:
    if not isinstance(value, str):
        return inline(value)
    if MOMENT.fullmatch(value):
        try:
            return when.stamp(datetime.fromisoformat(value))
        except ValueError:
            return value
    return value


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


@router.post("/repairs/{name}/log/withdraw")
def withdraw(there: AtRepair, form: Sent) -> Response:
    """Take a fact back, with the reason."""
    fact = form.text("fact", need="Which entry is withdrawn?")
    reason = form.text("reason", need="Say why: the reason stays in the log.", most=500)
    known = there.known.log.by_id.get(_uuid(fact or ""))  # type: ignore[arg-type]
    if fact is not None and known is None:
        form.wrong("", "There is no such entry in this log.")
    elif known is not None and known.id in there.known.folded.withdrawn:
        form.wrong("", "This entry is withdrawn already.")
    return save(
        there,
        form,
        lambda: [withdrawal(fact or "", reason or "")],
        then=there.path("log"),
        again=lambda: page(there, form),
    )
