"""Start a repair: from a damaged zone, empty, or from a file."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING
from zoneinfo import available_timezones

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from panelwright.errors import InvalidFile, StoreError, UnknownRepairError
from panelwright.facts import layouts
from panelwright.web.anew import body_of
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import Here, Visit
from panelwright.web.writes import Say, facts_of, ids_of, see, status_of

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact

router = APIRouter()
PAGE = Page("start", "", 5, router)

EMPTY = "empty"
DRIVES = (("battery", "battery"), ("hybrid", "hybrid"), ("combustion", "combustion"))
SIDES = (("left", "left"), ("right", "right"))
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,79}")
MOST_FILE = 20_000_000


@router.get("/start")
def start(visit: Here) -> Response:
    """Show the ways to start."""
    return page(visit, Form())


def page(visit: Visit, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    return show(
        visit,
        "start.html",
        form=form,
        heading="Start a repair",
        again="",  # nothing here is anybody else's: what is typed is left alone
        layouts=layouts.layouts(),
        drives=DRIVES,
        sides=SIDES,
    )


@router.post("/start")
def begin(visit: Here, form: Sent) -> Response:
    """Start a repair from a zone, or empty."""
    name = form.text("name", need="Give the repair a name: letters, digits, dashes.", most=80)
    if name is not None and _NAME.fullmatch(name) is None:
        form.wrong("name", _no_name(name))
    known = {layout.id for layout in layouts.layouts()}
    zone = form.choice("zone", known | {EMPTY}, need="Choose where the damage is.")
    if zone != EMPTY:
        form.choice("side", [side.value for side in layouts.Side], need="Choose the side.")
    drive = form.choice("drive", [drive for drive, _ in DRIVES], need="Choose what drives it.")
    label = form.text("label", most=200)
    if form.ok and name is not None and zone is not None:
        _begin(visit, form, name, zone, [_vehicle(label, drive), *_shop(visit, form)])
    if not form.ok:
        return page(visit, form)
    visit.desk.live.stir()
    return see(f"/repairs/{name}")


def _no_name(typed: str) -> str:
    """Say what a name may hold, and what this one could be."""
    plain = unicodedata.normalize("NFKD", typed).encode("ascii", "ignore").decode()
    could = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")[:80]
    such = f', such as "{could}"' if could else ""
    return f"{typed!r}: only a to z, digits and dashes, no dash first{such}."


def _vehicle(label: str | None, drive: str | None) -> Say:
    return Say("vehicle", {"label": label or "", "drive": drive})


def _shop(visit: Visit, form: Form) -> list[Say]:
    """Give the shop as the last repair has it; for the first one the time zone of the browser."""
    listed = sorted(visit.store.repairs(), key=lambda one: one.last_seq)
    if listed and (body := body_of(visit.answers.known(listed[-1].name), "shop")):
        return [Say("shop", body)]
    clock = form.value("clock")
    return [Say("shop", {"zone": clock})] if clock in available_timezones() else []


def _begin(visit: Visit, form: Form, name: str, zone: str, more: Sequence[Say]) -> None:
    try:
        facts = _facts(visit, form, name, zone, more)
        if not _is_begun(visit, name, facts[-1]):
            visit.store.start(name, facts)
    except InvalidFile as error:
        for where, what in error.problems:
            form.wrong("", f"{where}: {what}" if where else what)
    except StoreError as error:
        taken = "already" in str(error)
        form.wrong("name" if taken else "", f"{str(error)[:1].upper()}{str(error)[1:]}.")
        form.status = 422 if taken else status_of(error)


def _is_begun(visit: Visit, name: str, last: Fact) -> bool:
    """Tell whether this very form has begun the repair already: sent twice it changes nothing."""
    try:
        return last.id in visit.store.log(name).by_id
    except UnknownRepairError:
        return False


def _facts(visit: Visit, form: Form, name: str, zone: str, more: Sequence[Say]) -> Sequence[Fact]:
    opened = visit.desk.settings.clock().replace(microsecond=0)
    try:
        ids = ids_of(form.key, form.values, 1 + len(more))
    except (ValueError, OverflowError, OSError) as error:
        raise InvalidFile([("", f"{error}; open the page anew")]) from error
    if zone == EMPTY:
        header = Say("repair", {"name": name, "opened": opened.isoformat()})
        return facts_of(visit, ids, [header, *more])
    given = layouts.facts_of_layout(
        zone,
        side=layouts.Side(form.value("side")),
        name=name,
        opened=opened,
        person=visit.person.name,
    )
    return [*given, *facts_of(visit, ids[1:], more)]


@router.post("/start/file")
async def bring(visit: Here, form: Sent) -> Response:
    """Start a repair from a repair file or an exported repair."""
    sent = form.files.get("file")
    data = await sent.read(MOST_FILE + 1) if sent is not None else b""
    title = (sent.filename or "") if sent is not None else ""
    return await run_in_threadpool(_bring, visit, form, title, data)


def _bring(visit: Visit, form: Form, title: str, data: bytes) -> Response:
    if not data:
        form.wrong("file", "Choose a file: a repair file (.toml) or an exported repair (.zip).")
    elif len(data) > MOST_FILE:
        form.wrong("file", f"This file is larger than {MOST_FILE // 1_000_000} MB.")
    wanted = form.text("as", most=80)
    if wanted is not None and _NAME.fullmatch(wanted) is None:
        form.wrong("as", _no_name(wanted))
    name = _imported(visit, form, data, wanted, zipped=title.lower().endswith(".zip"))
    if not form.ok or name is None:
        return page(visit, form)
    visit.desk.live.stir()
    return see(f"/repairs/{name}")


def _imported(
    visit: Visit, form: Form, data: bytes, wanted: str | None, *, zipped: bool
) -> str | None:
    if not form.ok:
        return None
    try:
        if zipped:
            return visit.store.import_repair(BytesIO(data), name=wanted).name
        text = data.decode("utf-8-sig")
        return visit.store.import_text(text, person=visit.person.name, name=wanted).name
    except UnicodeDecodeError as error:
        form.wrong("file", f"This is no text (byte {error.start}); save it as UTF-8.")
    except InvalidFile as error:
        lines = [f"{where}: {what}" if where else what for where, what in error.problems[:20]]
        form.wrong("file", f"This file cannot be taken: {'; '.join(lines)}.")
    except StoreError as error:
        taken = "already" in str(error)
        form.wrong("as" if taken else "", f"{str(error)[:1].upper()}{str(error)[1:]}.")
        form.status = 422 if taken else status_of(error)
    return None
