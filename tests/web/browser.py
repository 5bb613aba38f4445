"""A real server and a real browser, for what only those show."""

from __future__ import annotations

import os
import shutil
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.store import Person, Place, Theme
from panelwright.web import Settings, Worker, create_app
from panelwright.web.back import Back
from panelwright.web.desk import Desk
from panelwright.web.server import Server

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SIZES = {"desk": (1280, 800), "tablet": (820, 1180), "phone": (390, 844)}


def chromium() -> str:
    """Where Debian's Chromium is; the test is skipped where there is none."""
    named = os.environ.get("PANELWRIGHT_CHROMIUM")
    found = named or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        pytest.skip("no Chromium is installed; name one by PANELWRIGHT_CHROMIUM")
    return found


@contextmanager
def started() -> Iterator[Browser]:
    """A browser that ends with the block."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield browser
        browser.close()


def _now() -> datetime:
    return datetime.now(UTC)


class Served:
    """A server on a free port of this machine; `apart`, pages are made in another process."""

    def __init__(
        self,
        place: Place,
        worker: Worker = Worker.THREAD,
        clock: Callable[[], datetime] = _now,
        *,
        apart: bool = False,
    ) -> None:
        self._socket = socket.socket()
        self._socket.bind(("127.0.0.1", 0))
        port = self._socket.getsockname()[1]
        self.address = f"http://127.0.0.1:{port}"
        settings = Settings(place, port=port, worker=worker, clock=clock, poll_s=0.1)
        self.app = create_app(settings, back=Back(settings) if apart else None)
        self._server = Server(self.app, host="127.0.0.1", port=port, log_level="error")
        self._thread = threading.Thread(target=self._run, daemon=True)

    def _run(self) -> None:
        self._server.run(sockets=[self._socket])

    @property
    def desk(self) -> Desk:
        """What the server is made of."""
        found = self.app.state.desk
        assert isinstance(found, Desk)
        return found

    def __enter__(self) -> Served:
        self._thread.start()
        while not self._server.started:
            assert self._thread.is_alive()
            self._thread.join(0.02)
        return self

    def __exit__(self, *_: object) -> None:
        self._server.should_exit = True
        self._thread.join(20.0)
        self._socket.close()


@contextmanager
def window(
    browser: Browser,
    served: Served,
    *,
    name: str = "Anna",
    size: str = "tablet",
    theme: Theme = Theme.LIGHT,
    lost: bool = False,
) -> Iterator[tuple[BrowserContext, Page]]:
    """A browser of its own that somebody uses; complaints of the page fail the test.

    With `lost`, the network is taken away meanwhile, and complaints about that are none.
    """
    served.desk.store.remember(Person(name, theme=theme))
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height})
    context.set_default_timeout(60_000)
    page = context.new_page()
    complaints = listened(page)
    page.goto(f"{served.address}/people")
    page.get_by_role("button", name=name, exact=True).click()
    page.wait_for_url("**/repairs")
    yield context, page
    context.close()
    found = [one for one in complaints if not (lost and "fetch" in one)]
    assert not found, found
    assert served.desk.reports == []


def listened(page: Page) -> list[str]:
    """What a page complains of in its console, but for answers that a test asks for itself."""
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "console",
        lambda said: (
            complaints.append(said.text)
            if said.type in ("error", "warning") and "Failed to load resource" not in said.text
            else None
        ),
    )
    return complaints


def fits(page: Page) -> bool:
    """Whether nothing is wider than the window."""
    wide: bool = page.evaluate(
        "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
    )
    return wide


def soon(page: Page, true: str, arg: object = None) -> None:
    """Wait until an expression is true; the browser's own way to wait would break the policy."""
    for _ in range(400):
        if page.evaluate(true, arg):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never: {true}")


def put(served: Served, file: Path) -> None:
    """Store a repair file."""
    served.desk.store.import_text(file.read_text("utf-8"), person="Berta")
