"""From errors to pages, in one place: a sentence, a status, and a way on."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse

from panelwright.errors import (
    InvalidFile,
    PanelwrightError,
    StoreBusyError,
    StoreDamagedError,
    StoreError,
    StoreFullError,
    StoreLostError,
    Unanswerable,
    UnknownRepairError,
)
from panelwright.web.render import show_plain
from panelwright.web.security import MOST_BYTES
from panelwright.web.visit import NobodyError, named_in
from panelwright.web.writes import status_of

if TYPE_CHECKING:
    from starlette.responses import Response
    from starlette.types import Scope

    from panelwright.web.desk import Desk

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Told:
    """An error as it is told: status, title, and sentences."""

    status: int
    title: str
    words: tuple[str, ...] = ()


_WORDS = {
    404: Told(404, "There is no such page.", ("Look whether the address is written right.",)),
    405: Told(405, "This page takes no such form.", ("Go back and try again.",)),
    413: Told(
        413,
        "This is too large.",
        (f"At most {MOST_BYTES // 1_000_000} MB can be sent at once.",),
    ),
}
_GONE = Told(
    503,
    "The pages are being started anew.",
    (
        "Everything that was stored before is intact.",
        "If you sent something, look in a moment whether the log has it; if not, send it anew.",
    ),
)
_TITLES: dict[type[StoreError], str] = {
    UnknownRepairError: "There is no such repair.",
    StoreFullError: "The disk is full.",
    StoreBusyError: "The store is busy just now.",
    StoreLostError: "The store cannot be reached just now.",
    StoreDamagedError: "The store is damaged.",
}
ANOTHER = "stands for another fact"
"""What the log says of an id that was used for something else."""


def tell_in_words(app: FastAPI, desk: Desk) -> None:
    """Let every error end as a page, or as JSON under ``/api``."""

    async def answer(request: Request, error: Exception) -> Response:
        if isinstance(error, NobodyError):
            asked = request.url.path if request.method == "GET" else "/"
            return RedirectResponse(f"/people?then={quote(asked)}", 303)
        told = told_of(request, error)
        if told.status >= 500:
            log.error("%s, asked for by %s", error, named_in(request), exc_info=error)
        found = _json(told, error) if _is_api(request) else _page(desk, request, told)
        if isinstance(error, HTTPException):
            found.headers.update(error.headers or {})
        return found

    for kind in (
        NobodyError,
        PanelwrightError,
        RequestValidationError,
        HTTPException,
        Exception,
    ):
        app.add_exception_handler(kind, answer)


def gone(desk: Desk, scope: Scope) -> Response:
    """Give the answer to a request whose process ended before it had answered."""
    request = Request(scope)
    found = _json(_GONE) if _is_api(request) else _page(desk, request, _GONE)
    found.headers["Retry-After"] = "3"
    return found


def _page(desk: Desk, request: Request, told: Told) -> Response:
    return show_plain(
        desk.templates,
        "error.html",
        told.status,
        fragment=request.headers.get("hx-request") == "true",
        heading=told.title,
        words=told.words,
        path=request.url.path,
    )


def _is_api(request: Request) -> bool:
    return request.url.path.startswith("/api/")


def _json(told: Told, error: Exception | None = None) -> Response:
    if isinstance(error, InvalidFile):
        problems = [{"where": where, "what": what} for where, what in error.problems]
    else:
        problems = [{"where": "", "what": what} for what in told.words or (told.title,)]
    return JSONResponse({"problems": problems}, told.status)


def told_of(request: Request, error: Exception) -> Told:
    """Give an error in words."""
    if isinstance(error, HTTPException):
        return _WORDS.get(error.status_code, Told(error.status_code, _sentence(str(error.detail))))
    if isinstance(error, RequestValidationError):
        lines = [f"{'.'.join(map(str, e['loc']))}: {e['msg']}" for e in error.errors()]
        return Told(422, "This cannot be taken.", tuple(lines))
    if isinstance(error, PanelwrightError):
        return _of_ours(request, error)
    return _defect(request, error)


def _of_ours(request: Request, error: PanelwrightError) -> Told:
    if isinstance(error, StoreError):
        return _of_store(request, error)
    if isinstance(error, InvalidFile):
        lines = [f"{where}: {what}" if where else what for where, what in error.problems]
        status = 409 if _is_api(request) and any(ANOTHER in line for line in lines) else 422
        return Told(status, "This cannot be taken.", tuple(lines))
    if isinstance(error, Unanswerable):
        return Told(422, "This cannot be answered yet.", error.why)
    return Told(422, "This cannot be taken.", (_sentence(str(error)),))


def _of_store(request: Request, error: StoreError) -> Told:
    status = status_of(error)
    if _is_api(request) and "already" in str(error):
        status = 409
    return Told(status, _TITLES.get(type(error), "The store says no."), (_sentence(str(error)),))


def _defect(request: Request, error: Exception) -> Told:
    again = (
        "Go back and try again; if it happens again, tell who looks after the program "
        f"({type(error).__name__} at {request.url.path})."
    )
    words = ("Everything that was stored before is intact.", again)
    return Told(500, "This is a fault of the program.", words)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."
