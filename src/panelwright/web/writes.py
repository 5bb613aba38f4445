"""From forms to facts: everything that pages say goes into the log by way of here."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from starlette.responses import RedirectResponse

from panelwright.errors import (
    InvalidFile,
    StoreBusyError,
    StoreDamagedError,
    StoreError,
    StoreFullError,
    StoreLostError,
    StoreVersionError,
    UnknownRepairError,
)
from panelwright.facts.canonical import canonical
from panelwright.facts.document import data_of
from panelwright.facts.entry import Fact
from panelwright.facts.file import document_from
from panelwright.facts.identity import milliseconds, uuid7
from panelwright.facts.kinds import WITHDRAWN, kinds

if TYPE_CHECKING:
    from starlette.responses import Response

    from panelwright.web.desk import Desk
    from panelwright.web.forms import Form
    from panelwright.web.settings import Settings
    from panelwright.web.visit import There, Visit

TROUBLE: Mapping[type[StoreError], int] = {
    UnknownRepairError: 404,
    StoreFullError: 507,
    StoreBusyError: 503,
    StoreLostError: 503,
    StoreDamagedError: 500,
    StoreVersionError: 500,
}
"""Status of the answer by what the store complains of; 422 for what it refuses."""

KEY_BYTES = 10


@dataclass(frozen=True)
class Say:
    """A fact to be said: its kind and its table as typed, in JSON's kinds."""

    kind: str
    body: Mapping[str, object]


def withdrawal(fact: str, reason: str) -> Say:
    """Give what takes a fact back."""
    return Say(WITHDRAWN, {"id": fact, "reason": reason})


def new_key(settings: Settings) -> str:
    """Give a form's hidden key: sent twice, it makes the same facts, which are stored once."""
    moment = milliseconds(settings.clock())
    return f"{moment:012x}{settings.random(KEY_BYTES).hex()}"


def ids_of(key: str, content: Mapping[str, str], count: int) -> list[UUID]:
    """Give the ids of a form's facts: the same form sent again has the same.

    Parameters
    ----------
    key : str
        That `new_key` gave when the page was made.
    content : mapping
        The form as sent, so that two forms of one page differ.
    count : int

    Raises
    ------
    ValueError
        Where the key is none.
    """
    if len(key) != 12 + 2 * KEY_BYTES:
        raise ValueError(f"{key[:60]!r} is no key of a form")
    moment = datetime.fromtimestamp(int(key[:12], 16) / 1000, UTC)
    seed = canonical(sorted([name, value] for name, value in content.items()))
    return [uuid7(moment, hashlib.sha256(seed + bytes([n])).digest()) for n in range(count)]


def facts_of(
    visit: Visit, ids: Sequence[UUID], said: Sequence[Say], *, person: str = ""
) -> list[Fact]:
    """Give the facts that somebody says now.

    Raises
    ------
    InvalidFile
        Where a table does not take what is said.
    """
    now = visit.desk.settings.clock()
    facts = [
        Fact(
            id=identity,
            kind=one.kind,
            version=kinds()[one.kind].version if one.kind in kinds() else 1,
            body={name: value for name, value in one.body.items() if value is not None},
            observed_at=now,
            recorded_at=now,
            person=person or visit.person.name,
        )
        for identity, one in zip(ids, said, strict=True)
    ]
    for fact in facts:
        check(fact)
    return facts


def check(fact: Fact) -> None:
    """Refuse a fact that its table does not take; InvalidFile with the keys."""
    if fact.kind == WITHDRAWN:
        return
    if fact.kind not in kinds():
        raise InvalidFile([("kind", f"{fact.kind!r} is no kind of fact")])
    newest = kinds()[fact.kind].version
    if fact.version > newest:
        what = f"{fact.version}: the newest version known here is {newest}; update this program"
        raise InvalidFile([("version", what)])
    try:
        document_from(data_of((fact,)))
    except InvalidFile as error:
        start = (f"{fact.kind}[0]", fact.kind)
        raise InvalidFile(
            [
                (where.removeprefix(start[0]).removeprefix(start[1]).lstrip("."), what)
                for where, what in error.problems
            ]
        ) from error


def rehearse(desk: Desk) -> None:
    """Go through what storing a fact takes, so that the first one waits for nothing."""
    now = desk.settings.clock()
    fact = Fact(
        id=uuid7(now, desk.settings.random(KEY_BYTES)),
        kind="conditions",
        body={"air": "20 °C", "humidity": 50},
        observed_at=now,
        recorded_at=now,
        person="nobody",
    )
    check(fact)
    desk.store.rehearse(fact)


def save(
    there: There,
    form: Form,
    said: Callable[[], Sequence[Say]],
    *,
    then: str,
    again: Callable[[], Response],
) -> Response:
    """Store what a form says and go on, or show the form again with what is wrong.

    Parameters
    ----------
    there : There
    form : Form
        Read already; with problems nothing is stored.
    said : callable
        Gives the facts; called only where the form has no problems.
    then : str
        Address to go to once it is stored (303).
    again : callable
        Gives the page with the form (422; 503 and 507 where the store cannot take it).
    """
    if form.ok:
        try:
            _store(there, form, said())
        except InvalidFile as error:
            for where, what in error.problems:
                form.wrong(where if where in form.values else "", _sentence(where, what, form))
        except StoreError as error:
            form.wrong("", f"{str(error)[:1].upper()}{str(error)[1:]}.")
            form.status = status_of(error)
    if not form.ok:
        return again()
    there.desk.live.stir()
    return see(then)


def _store(there: There, form: Form, said: Sequence[Say]) -> None:
    """Append the facts; a form that was stored already, sent again, changes nothing."""
    try:
        ids = ids_of(form.key, form.values, len(said))
    except (ValueError, OverflowError, OSError) as error:
        raise InvalidFile([("", f"{error}; open the page anew")]) from error
    stored = there.known.log.by_id
    if ids and all(identity in stored for identity in ids):
        return
    there.store.append(there.name, facts_of(there, ids, said))


def _sentence(where: str, what: str, form: Form) -> str:
    return what if where in form.values or not where else f"{where}: {what}"


def see(path: str) -> Response:
    """Go on to a page after something was stored."""
    return RedirectResponse(path, 303)


def status_of(error: StoreError) -> int:
    """Give the status of an answer about trouble with the store."""
    return next((code for kind, code in TROUBLE.items() if isinstance(error, kind)), 422)


def local(path: str, default: str = "/") -> str:
    """Give an address of these pages; the default where it is any other."""
    fine = path.startswith("/") and not path.startswith("//")
    return path if fine and path.isprintable() and "\\" not in path else default
