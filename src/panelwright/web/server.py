"""The server: it ends the streams before it waits for its connections."""

from __future__ import annotations

import socket

import uvicorn
from fastapi import FastAPI

from panelwright.web.desk import Desk

GRACE_S = 5


class Server(uvicorn.Server):
    """Serves the pages of an application that `create_app` built."""

    def __init__(self, app: FastAPI, *, host: str, port: int, log_level: str = "warning") -> None:
        self.app = app
        super().__init__(
            uvicorn.Config(
                app,
                host=host,
                port=port,
                log_level=log_level,
                lifespan="on",
                ws="none",
                server_header=False,
                timeout_graceful_shutdown=GRACE_S,
            )
        )

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the streams, which would never end by themselves, then everything else."""
        desk = self.app.state.desk
        if isinstance(desk, Desk):
            await desk.live.close()
        await super().shutdown(sockets)
