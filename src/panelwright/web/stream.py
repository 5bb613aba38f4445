"""The stream of what is new, and where browsers report against the content security policy."""

from __future__ import annotations

import logging

from fastapi import APIRouter, Request, Response
from starlette.responses import StreamingResponse

from panelwright.web.security import REPORTS
from panelwright.web.visit import desk_of

router = APIRouter()
log = logging.getLogger(__name__)

MOST_REPORTS = 100
LARGEST_REPORT = 20_000


@router.get("/events")
async def events(request: Request, after: str = "") -> StreamingResponse:
    """Follow what is stored, from the last number that the browser has seen."""
    desk = desk_of(request)
    seen = request.headers.get("last-event-id", "") or after
    start = int(seen) if seen.isdecimal() and len(seen) < 19 else desk.store.last_seq()
    return StreamingResponse(
        desk.live.stream(start),
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )


@router.post(REPORTS)
async def reports(request: Request) -> Response:
    """Take a browser's report; tests look at them, people find them in the log."""
    body = (await request.body())[:LARGEST_REPORT]
    kept = desk_of(request).reports
    kept.append(body)
    del kept[:-MOST_REPORTS]
    log.warning("content security policy: %s", body.decode(errors="replace"))
    return Response(status_code=204)
