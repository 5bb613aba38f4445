"""Kill a server under load at random moments, and look each time for what it acknowledged.

Run by a test: killed.py ROUNDS SEED FOLDER. Each round starts a server in a process of its own,
which is a copy of this one so that nothing is loaded anew; six clients send it facts, by the JSON
interface and by forms, while others ask for pages and follow the stream. It is killed after a
random number of answers, at whatever it is doing.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import select
import signal
import socket
import sys
import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn
from urllib.parse import urlencode

sys.path.insert(0, str(Path(__file__).parents[2]))

import panelwright.plan  # noqa: F401 - loaded once, before the servers are copied
from panelwright.store import Person, Place, open_store, place_of
from panelwright.web import Settings, Worker, create_app
from panelwright.web.back import Back
from panelwright.web.page import all_pages
from panelwright.web.server import Server
from panelwright.web.visit import COOKIE
from tests.store.making import fact, identity

REPAIRS = ("heron-114", "heron-115")
SENDERS = 6
A_ROUND = 100_000
WORKERS = [Worker.PROCESS] + 9 * [Worker.THREAD]
"""A process for long work takes longer to start than most servers live here."""
PERSON = "Kim"
GONE = (OSError, http.client.HTTPException)


def serve(place: Place, sock: socket.socket, worker: Worker) -> NoReturn:
    """Be the server until killed."""
    port = sock.getsockname()[1]
    settings = Settings(place, port=port, worker=worker)
    app = create_app(settings, back=Back(settings) if worker is Worker.PROCESS else None)
    server = Server(app, host="127.0.0.1", port=port)
    server.run(sockets=[sock])
    os._exit(0)


@dataclass
class Load:
    """What clients send to a server, and what it has acknowledged."""

    port: int
    first: int
    facts: set[str] = field(default_factory=set)
    forms: set[str] = field(default_factory=set)
    wrong: list[str] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)
    ended: threading.Event = field(default_factory=threading.Event)

    @property
    def count(self) -> int:
        """How many facts were acknowledged."""
        return len(self.facts) + len(self.forms)

    def threads(self) -> list[threading.Thread]:
        """The clients, begun."""
        works = [(self.send, n) for n in range(SENDERS)] + [(self.look, n) for n in range(2)]
        threads = [threading.Thread(target=self.until_gone, args=work) for work in works]
        for thread in threads:
            thread.start()
        return threads

    def until_gone(self, work: object, number: int) -> None:
        """Work until the server is gone."""
        wire = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30.0)
        try:
            work(wire, number)  # type: ignore[operator]
        except GONE:
            return
        except AssertionError as error:
            self.wrong.append(str(error))
        finally:
            wire.close()

    def ask(
        self,
        wire: http.client.HTTPConnection,
        method: str,
        path: str,
        body: str = "",
        kind: str = "",
    ) -> tuple[int, str, str]:
        """Status, text and address to go to of a whole answer; an answer cut short is none."""
        headers = {"Cookie": f"{COOKIE}={PERSON}", "Content-Type": kind}
        wire.request(method, path, body or None, headers)
        answer = wire.getresponse()
        text = answer.read().decode()
        return answer.status, text, answer.getheader("location", "")

    def send(self, wire: http.client.HTTPConnection, sender: int) -> None:
        """Send one fact after the other; note each once it is acknowledged."""
        repair = REPAIRS[sender % 2]
        by_form = sender >= SENDERS - 2
        number = self.first + sender
        _, page, _ = self.ask(wire, "GET", "/start")
        while not self.ended.is_set():
            done = (self.form if by_form else self.fact)(wire, repair, number, page)
            with self.lock:
                (self.forms if by_form else self.facts).add(done)
            number += SENDERS

    def fact(self, wire: http.client.HTTPConnection, repair: str, number: int, _: str) -> str:
        """Send a fact by the JSON interface; its id."""
        one = fact(number)
        body = json.dumps(
            {
                "facts": [
                    {
                        "id": str(one.id),
                        "kind": one.kind,
                        "body": dict(one.body),
                        "observed_at": one.observed_at.isoformat(),
                        "person": PERSON,
                    }
                ]
            }
        )
        path = f"/api/repairs/{repair}/facts"
        status, text, _ = self.ask(wire, "POST", path, body, "application/json")
        assert status == 200, text
        assert json.loads(text)["added"] == 1, text
        return str(identity(number))

    def form(self, wire: http.client.HTTPConnection, repair: str, number: int, page: str) -> str:
        """Send a fact as a tap of a button does; the words in it."""
        key = re.search(r'name="key" value="([0-9a-f]+)"', page)
        assert key is not None, page
        words = f"tap {number}"
        told = {
            "key": key[1],
            "kind": "vehicle",
            "body": json.dumps({"label": words}),
            "then": f"/repairs/{repair}/log",
        }
        path = f"/repairs/{repair}/say"
        kind = "application/x-www-form-urlencoded"
        status, text, there = self.ask(wire, "POST", path, urlencode(told), kind)
        assert (status, there) == (303, told["then"]), text
        return words

    def look(self, wire: http.client.HTTPConnection, looker: int) -> None:
        """Ask for pages, or follow the stream."""
        if looker == 0:
            wire.request("GET", "/events?after=0", headers={"Cookie": f"{COOKIE}={PERSON}"})
            answer = wire.getresponse()
            while answer.readline():
                pass
            return
        while not self.ended.is_set():
            for path in ("/repairs", f"/repairs/{REPAIRS[0]}/log"):
                self.ask(wire, "GET", path)


def one_round(place: Place, first: int, chosen: random.Random) -> Load:
    """Start a server, load it, kill it, and give what it acknowledged."""
    sock = socket.socket()
    sock.bind(("127.0.0.1", 0))
    sock.listen(64)  # a connection waits here until the server is up
    worker = chosen.choice(WORKERS)
    child = os.fork()
    if child == 0:
        serve(place, sock, worker)
    load = Load(sock.getsockname()[1], first)
    sock.close()
    threads = load.threads()
    wanted, by_form = chosen.randrange(0, 20), chosen.choice((0, 1, 1))
    while (load.count < wanted or len(load.forms) < by_form) and not load.wrong:
        select.select([], [], [], 0.001)
    select.select([], [], [], chosen.uniform(0, 0.02))  # so that it dies at any point of its work
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    load.ended.set()
    for thread in threads:
        thread.join()
    if load.wrong:
        sys.exit(f"seed of the round {first // A_ROUND}: {load.wrong[0][:2000]}")
    return load


def main(rounds: int, seed: int, place: Place) -> None:
    """Print what was acknowledged, what of it is missing, and what broke."""
    chosen = random.Random(seed)  # noqa: S311
    ids: set[str] = set()
    words: set[str] = set()
    missing: set[str] = set()
    for number in range(rounds):
        load = one_round(place, number * A_ROUND, chosen)
        ids |= load.facts
        words |= load.forms
        with open_store(place, make=False) as store:  # this mends what the server left behind
            facts = [one for name in REPAIRS for one in store.log(name).facts]
            broken = [str(one) for one in store.verify().broken]
        missing |= ids - {str(one.id) for one in facts}
        missing |= words - {str(one.body.get("label")) for one in facts}
        if missing or broken:
            break
    told = {"rounds": number + 1, "by_json": len(ids), "by_form": len(words), "stored": len(facts)}
    sys.stdout.write(json.dumps({**told, "missing": sorted(missing), "broken": broken}))


if __name__ == "__main__":
    where = place_of(sys.argv[3])
    all_pages()
    with open_store(where) as made:
        made.remember(Person(PERSON))
        for name in REPAIRS:
            made.start(name, [])
    main(int(sys.argv[1]), int(sys.argv[2]), where)
