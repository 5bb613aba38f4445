"""Facts are taken in one process and pages made in another; either may end at any moment."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from starlette.types import Message, Receive, Scope, Send

from panelwright.store import Person, open_store, place_of
from panelwright.web import Worker
from panelwright.web.back import Answered, Back, BackGoneError, whole
from panelwright.web.front import Front
from panelwright.web.security import MOST_BYTES
from panelwright.web.visit import COOKIE
from tests.store.making import fact
from tests.web.browser import Served

pytestmark = pytest.mark.skipif(not hasattr(os, "SCHED_IDLE"), reason="looks into /proc")

NAME = "heron-114"
HEADERS = {"Cookie": f"{COOKIE}=Kim"}
WAIT_S = 60.0


@pytest.fixture
def folder(tmp_path: Path, examples: Path) -> Path:
    """A store with one repair and one person."""
    with open_store(place_of(tmp_path)) as store:
        store.remember(Person("Kim"))
        store.import_text((examples / "heron-moved.toml").read_text("utf-8"), person="Kim")
    return tmp_path


class Caller:
    """One who asks a server."""

    def __init__(self, address: str) -> None:
        self.host = address.removeprefix("http://")

    def ask(
        self, method: str, path: str, body: bytes | None = None, **more: str
    ) -> tuple[int, bytes]:
        connection = http.client.HTTPConnection(self.host, timeout=WAIT_S)
        headers = {**HEADERS, **{name.replace("_", "-"): value for name, value in more.items()}}
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        found = answer.status, answer.read()
        connection.close()
        return found

    def post(self, path: str, value: object) -> tuple[int, bytes]:
        data = json.dumps(value).encode()
        return self.ask("POST", path, data, Content_Type="application/json")


@contextmanager
def apart(folder: Path) -> Iterator[tuple[Served, Back, Caller]]:
    """A server whose pages are made in another process."""
    with Served(place_of(folder), Worker.PROCESS, apart=True) as served:
        back = served.app.back  # type: ignore[attr-defined]
        assert isinstance(back, Back)
        yield served, back, Caller(served.address)


def sent(number: int) -> dict[str, object]:
    """A fact as it is sent."""
    one = fact(number)
    return {"facts": [{**one.model_dump(mode="json", exclude={"recorded_at", "version"})}]}


def children(process: int) -> list[int]:
    """Processes that a process has started."""
    found = []
    for task in Path(f"/proc/{process}/task").iterdir():
        found += [int(one) for one in (task / "children").read_text().split()]
    return found


def alive(process: int) -> bool:
    """Whether a process is there and no zombie."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_pages_facts_and_what_is_too_large(folder: Path) -> None:
    with apart(folder) as (served, _, caller):
        status, page = caller.ask("GET", f"/repairs/{NAME}")
        assert (status, b"<h1" in page) == (200, True)
        before = len(served.desk.store.log(NAME).entries)
        status, answer = caller.post(f"/api/repairs/{NAME}/facts", sent(900))
        assert (status, json.loads(answer)["added"]) == (200, 1)
        status, answer = caller.ask("GET", f"/api/repairs/{NAME}/log?after={before - 1}")
        assert [one["number"] for one in json.loads(answer)["entries"]] == [before]
        status, _ = caller.ask("GET", "/repairs/nothing")
        assert status == 404
        status, answer = caller.ask("POST", "/api/photos", b"", Content_Length=str(MOST_BYTES + 1))
        assert status == 413
        # nothing is made where facts are taken
        assert served.desk.answers.rooms[next(iter(served.desk.answers.rooms))].made == 0


def test_the_stream_tells_of_answers_made_in_the_other_process(folder: Path) -> None:
    with apart(folder) as (served, _, caller):
        connection = http.client.HTTPConnection(caller.host, timeout=WAIT_S)
        connection.request("GET", "/events", headers=HEADERS)
        stream = connection.getresponse()
        status, _ = caller.ask("GET", f"/api/repairs/{NAME}/answers/plan")
        assert status == 202
        kinds = []
        while "answer" not in kinds:
            line = stream.readline()
            assert line, "the stream ended"
            if line.startswith(b"event: "):
                kinds.append(line.split()[1].decode())
        status, _ = caller.ask("GET", f"/api/repairs/{NAME}/answers/plan")
        assert status == 200
        connection.close()
        del served


def test_pages_come_again_after_their_process_was_killed(folder: Path) -> None:
    with apart(folder) as (_, back, caller):
        assert caller.ask("GET", "/people")[0] == 200
        first = back.process
        os.kill(first, signal.SIGKILL)
        status, answer = caller.post(f"/api/repairs/{NAME}/facts", sent(901))
        assert (status, json.loads(answer)["added"]) == (200, 1)
        end = time.monotonic() + WAIT_S
        status, page = caller.ask("GET", "/people")
        while status == 503 and time.monotonic() < end:
            assert b"started anew" in page
            time.sleep(0.2)
            status, page = caller.ask("GET", "/people")
        assert status == 200
        assert back.process != first


def test_no_process_outlives_the_one_that_serves(folder: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "panelwright", "serve", "--data", str(folder)]
    process = subprocess.Popen([*command, "--port", str(port)], stdout=subprocess.PIPE)  # noqa: S603
    assert process.stdout is not None
    process.stdout.readline()
    end = time.monotonic() + WAIT_S
    caller = Caller(f"http://127.0.0.1:{port}")
    while True:
        try:
            assert caller.ask("GET", f"/repairs/{NAME}")[0] == 200
            break
        except OSError:
            assert time.monotonic() < end
            time.sleep(0.2)
    family = children(process.pid)
    family += [two for one in family for two in children(one)]
    assert len(family) >= 3  # pages, rooms, long work
    process.kill()
    process.wait()
    process.stdout.close()
    while any(alive(one) for one in family):
        assert time.monotonic() < end
        time.sleep(0.1)


class Never:
    """A back whose process always ends."""

    async def ask(self, scope: Scope, body: bytes) -> Answered:
        del scope, body
        raise BackGoneError


async def _plain(scope: Scope, receive: Receive, send: Send) -> None:
    """Say how much was sent."""
    size, more = 0, True
    while more:
        message = await receive()
        size += len(message.get("body", b""))
        more = message.get("more_body", False)
    await send({"type": "http.response.start", "status": 413, "headers": [(b"path", b"here")]})
    await send({"type": "http.response.body", "body": str(size).encode()})
    del scope


@pytest.mark.anyio
async def test_what_grows_too_large_is_handed_over_from_its_beginning() -> None:
    chunk = b"x" * 1_000_000
    waiting = [{"type": "http.request", "body": chunk, "more_body": True} for _ in range(40)]
    waiting[-1]["more_body"] = False
    told: list[Message] = []

    async def receive() -> Message:
        return waiting.pop(0)

    async def send(message: Message) -> None:
        told.append(message)

    scope = {"type": "http", "method": "POST", "path": "/api/photos", "headers": []}
    front = Front(_plain, Never(), lambda _: None)  # type: ignore[arg-type,return-value]
    await front(scope, receive, send)
    assert told[0]["status"] == 413
    assert int(told[1]["body"]) == 40 * len(chunk)


@pytest.mark.anyio
async def test_a_whole_answer_holds_every_piece() -> None:
    found = await whole(_plain, {"type": "http", "path": "/"}, b"abc")
    assert found == Answered(413, ((b"path", b"here"),), b"3")
