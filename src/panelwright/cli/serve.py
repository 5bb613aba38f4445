"""The command that serves the pages on this machine."""

from __future__ import annotations

import sys
from contextlib import suppress
from functools import partial

import click

from panelwright.cli.ask import DONE, guarded
from panelwright.cli.stored import place, store_options
from panelwright.errors import PanelwrightError

PORT = 8420
SWITCH_S = 0.0005
"""How long a thread may think before another is let: storing a fact asks for a turn ten times."""


@click.command()
@store_options
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=PORT,
    show_default=True,
    help="Port of this machine's own address, 127.0.0.1.",
)
@click.option("--open", "opens", is_flag=True, help="Open the pages in the browser.")
@click.pass_context
def serve(
    ctx: click.Context, data: str | None, database: str | None, port: int, opens: bool
) -> None:
    """Serve the pages to browsers on this machine."""
    status = guarded(partial(_serve, data, database, port, opens=opens), as_json=False)
    sys.stdout.flush()
    ctx.exit(status)


def _serve(data: str | None, database: str | None, port: int, *, opens: bool) -> int:
    from panelwright.web import Settings, create_app  # noqa: PLC0415
    from panelwright.web.back import Back  # noqa: PLC0415
    from panelwright.web.server import Server  # noqa: PLC0415

    settings = Settings(place(data, database), port=port)
    app = create_app(settings, back=Back(settings))
    address = f"http://{settings.host}:{port}/"
    click.echo(f"Panelwright is at {address} (stored in {settings.place}); Ctrl+C ends it.")
    if opens:
        click.launch(address)
    sys.setswitchinterval(SWITCH_S)
    server = Server(app, host=settings.host, port=port)
    with suppress(KeyboardInterrupt):
        server.run()
    if not server.started:
        raise PanelwrightError(f"port {port} is taken; name another one: --port {port + 1}")
    return DONE
