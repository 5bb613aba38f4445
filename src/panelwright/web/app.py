"""The one place where the application is built."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial
from importlib.resources import files
from typing import TYPE_CHECKING

from anyio.to_thread import current_default_thread_limiter
from fastapi import FastAPI
from starlette.staticfiles import StaticFiles

from panelwright import __version__
from panelwright.store import Store, open_store
from panelwright.web import api, errors, stream
from panelwright.web.crowd import Crowd
from panelwright.web.desk import Desk
from panelwright.web.front import Front
from panelwright.web.page import all_pages
from panelwright.web.render import environment
from panelwright.web.security import MOST_BYTES, Gate
from panelwright.web.settings import Settings
from panelwright.web.writes import rehearse

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from panelwright.web.back import Back


THREADS = 120
"""Requests at work at once: many may wait for an answer while others store facts."""


class Pages(FastAPI):
    """The application behind its gate: the gate's headers stand on every answer, errors too."""

    settings: Settings
    back: Back | None

    def build_middleware_stack(self) -> ASGIApp:
        """Put the gate before everything else, then the crowd before the pages."""
        pages: ASGIApp = Crowd(super().build_middleware_stack())
        if self.back is not None:
            pages = Front(pages, self.back, partial(errors.gone, self.state.desk))
        return Gate(pages, self.settings)


def create_app(
    settings: Settings, store: Store | None = None, *, back: Back | None = None
) -> FastAPI:
    """Build the pages and the JSON interface on one store.

    Parameters
    ----------
    settings : Settings
    store : Store or None
        An open one, which the application closes; None opens the one of `settings`.
    back : Back or None
        The process that makes the pages and answers; None makes them in this one.
    """
    desk = Desk(
        settings=settings,
        store=store or open_store(settings.place, clock=settings.clock),
        pages=all_pages(),
        templates=environment(),
        thinks=back is None,
    )
    if back is not None:
        back.told, back.stirred = desk.live.tell, desk.live.look
        desk.live.on_stir.append(back.stir)

    @asynccontextmanager
    async def running(_: FastAPI) -> AsyncIterator[None]:
        current_default_thread_limiter().total_tokens = THREADS
        await desk.start()
        if back is not None:
            back.start()
            await asyncio.to_thread(rehearse, desk)
        yield
        if back is not None:
            await asyncio.to_thread(back.close)
        await desk.close()

    app = Pages(
        telemetry={"tracing": False, "metrics": False, "logs": False, "auto_configure": False},
        max_body_size=MOST_BYTES,
        title="Panelwright",
        version=__version__,
        summary="Repairs, their facts, and what follows from them",
        lifespan=running,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.settings, app.back = settings, back
    app.state.desk = desk
    for page in desk.pages:
        app.include_router(page.router, include_in_schema=False)
    app.include_router(stream.router, include_in_schema=False)
    app.include_router(api.router)
    ours = files("panelwright")
    app.mount("/static/fonts", StaticFiles(directory=str(ours / "record" / "fonts")))
    app.mount("/static", StaticFiles(directory=str(ours / "web" / "static")))
    errors.tell_in_words(app, desk)
    return app
