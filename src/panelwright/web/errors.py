"""From errors to pages, in one place: a sentence, a status, and a way on."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse

from panelwright.errors import InvalidFile, PanelwrightError, StoreError, Unanswerable
from panelwright.web.render import show_plain
from panelwright.web.security import MOST_BYTES, TooLargeError
from panelwright.web.visit import NobodyError, named_in
from panelwright.web.writes import status_of

if TYPE_CHECKING:
    from starlette.responses import Response

    from panelwright.web.desk import Desk

log = logging.getLogger(__name__)

_WORDS = {
    404: ("There is no such page.", "Look whether the address is written right."),
    405: ("This page takes no such form.", "Go back and try again."),
    413: ("This is too large.", f"At most {MOST_BYTES // 1_000_000} MB can be sent at once."),
}
_TITLES = {
    404: "There is no such repair.",
    503: "The store cannot be reached just now.",
    507: "The disk is full.",
}


def tell_in_words(app: FastAPI, desk: Desk) -> None:
    """Let every error end as a page, or as JSON under ``/api``."""

    def page(request: Request, status: int, title: str, words: list[str]) -> Response:
        if request.url.path.startswith("/api/"):
            problems = [{"where": "", "what": what} for what in [title, *words]]
            return JSONResponse({"problems": problems}, status)
        fragment = request.headers.get("hx-request") == "true"
        return show_plain(
            desk.templates,
            "error.html",
            status,
            fragment=fragment,
            heading=title,
            words=words,
            path=request.url.path,
        )

    @app.exception_handler(NobodyError)
    async def nobody(request: Request, _: Exception) -> Response:
        asked = request.url.path if request.method == "GET" else "/"
        return RedirectResponse(f"/people?then={quote(asked)}", 303)

    @app.exception_handler(StoreError)
    async def store(request: Request, error: Exception) -> Response:
        assert isinstance(error, StoreError)  # noqa: S101 - by the line above
        status = status_of(error)
        if status >= 500:
            log.error("store: %s", error)
        title = _TITLES.get(status, "The store says no.")
        return page(request, status, title, [_sentence(str(error))])

    @app.exception_handler(PanelwrightError)
    async def ours(request: Request, error: Exception) -> Response:
        if isinstance(error, InvalidFile):
            lines = [f"{where}: {what}" if where else what for where, what in error.problems]
            return page(request, 422, "This cannot be taken.", lines)
        if isinstance(error, Unanswerable):
            return page(request, 422, "This cannot be answered yet.", list(error.why))
        return page(request, 422, "This cannot be taken.", [_sentence(str(error))])

    @app.exception_handler(RequestValidationError)
    async def wrong(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)  # noqa: S101 - by the line above
        lines = [f"{'.'.join(map(str, e['loc']))}: {e['msg']}" for e in error.errors()]
        return page(request, 422, "This cannot be taken.", lines)

    @app.exception_handler(TooLargeError)
    async def large(request: Request, _: Exception) -> Response:
        return page(request, 413, _WORDS[413][0], [_WORDS[413][1]])

    @app.exception_handler(HTTPException)
    async def known(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)  # noqa: S101 - by the line above
        title, words = _WORDS.get(error.status_code, (f"{error.detail}.", ""))
        answer = page(request, error.status_code, title, [words] if words else [])
        for name, value in (error.headers or {}).items():
            answer.headers[name] = value
        return answer

    @app.exception_handler(Exception)
    async def defect(request: Request, error: Exception) -> Response:
        log.error("a defect, asked for by %s", named_in(request), exc_info=error)
        words = [
            "Everything that was stored before is intact.",
            "Go back and try again; if it happens again, tell who looks after the program "
            f"({type(error).__name__} at {request.url.path}).",
        ]
        return page(request, 500, "This is a fault of the program.", words)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."
