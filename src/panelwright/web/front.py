"""What is taken at once, and what is passed to the process with the pages."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from starlette.datastructures import Headers
from starlette.responses import Response

from panelwright.web.back import BackGoneError
from panelwright.web.security import MOST_BYTES, REPORTS

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from panelwright.web.back import Back

_HERE = ("/static/", "/events", REPORTS)
_FACTS = re.compile(r"/api/repairs/[^/]+/facts")


class Front:
    """Takes facts, tells what is new and gives files itself; the rest is asked of the back.

    Parameters
    ----------
    app : ASGIApp
        That answers here.
    back : Back
    gone : callable
        Gives the answer to a request that the back did not live to answer.
    """

    def __init__(self, app: ASGIApp, back: Back, gone: Callable[[Scope], Response]) -> None:
        self.app = app
        self.back = back
        self.gone = gone

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request or have it answered."""
        if scope["type"] != "http" or _stays(scope):
            await self.app(scope, receive, send)
            return
        body, rest = await _read(scope, receive)
        if rest is not None:  # too large: refused here, before it is read
            await self.app(scope, rest, send)
            return
        try:
            found = await self.back.ask(scope, body)
        except BackGoneError:
            await self.gone(scope)(scope, receive, send)
            return
        start = {"type": "http.response.start", "status": found.status}
        await send({**start, "headers": list(found.headers)})
        await send({"type": "http.response.body", "body": found.body})


def _stays(scope: Scope) -> bool:
    path = scope["path"]
    if scope["method"] == "POST" and _FACTS.fullmatch(path):
        return True
    return bool(path.startswith(_HERE))


async def _read(scope: Scope, receive: Receive) -> tuple[bytes, Receive | None]:
    """Give a request's body; where it is too large what reads it from the beginning."""
    if scope["method"] in ("GET", "HEAD"):
        return b"", None
    length = Headers(scope=scope).get("content-length", "")
    if length.isdecimal() and int(length) > MOST_BYTES:
        return b"", receive
    messages: list[Message] = []
    size = 0
    while size <= MOST_BYTES:
        message = await receive()
        messages.append(message)
        size += len(message.get("body", b""))
        if not message.get("more_body", False):
            return b"".join(one.get("body", b"") for one in messages), None

    async def again() -> Message:
        return messages.pop(0) if messages else await receive()

    return b"", again
