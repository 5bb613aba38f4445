"""The gate before all pages: Host, Origin, and the headers of what is answered.

References
----------
W3C Content Security Policy Level 3; Fetch Metadata Request Headers; RFC 9110, 7.2 (Host).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from panelwright.web.settings import Settings

MOST_BYTES = 26_000_000
"""Of one request: a photo of 25 MB and the form around it."""

REPORTS = "/csp-reports"

CSP = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        f"report-uri {REPORTS}",
        "report-to csp",
    )
)

HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": CSP,
    "Reporting-Endpoints": f'csp="{REPORTS}"',
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
}

_READING = frozenset({"GET", "HEAD", "OPTIONS"})
_OURS = frozenset({"same-origin", "none"})


class Gate:
    """Refuses what does not come from these pages, and adds the headers to every answer."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.hosts = settings.allowed_hosts
        self.origins = settings.allowed_origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refusal = self._refusal(Headers(scope=scope), scope["method"], scope["path"])
        if refusal is not None:
            status, words = refusal
            await PlainTextResponse(words, status)(scope, receive, with_headers)
            return
        await self.app(scope, receive, with_headers)

    def _refusal(self, headers: Headers, method: str, path: str) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if host.lower() not in self.hosts:
            return 403, f"This page is not served under the name {host[:80]!r}."
        if method in _READING or path == REPORTS:
            return None
        origin = headers.get("origin")
        if origin is not None and origin.lower() not in self.origins:
            return 403, f"A form of {origin[:80]!r} is not taken here."
        if headers.get("sec-fetch-site", "same-origin") not in _OURS:
            return 403, "A form of another site is not taken here."
        return None
