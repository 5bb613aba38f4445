"""Thirty tablets on the pages of one server, beside the same on a bare app that appends as durably.

Each tablet posts a fact each second through the JSON interface and holds one stream; where the
stream tells of its repair, by a fact of anybody or a new plan, it asks for the repair's first page
as the browser does. Both servers are processes of their own on loopback with the same settings of
uvicorn, one after the other, a round of each in turn. The bare app gets the same rows, streams and
questions for pages; its page is empty. Run: bench_web.py [--seconds 60] [--rounds 1]
[--tablets 30] [--repairs 10].
"""

from __future__ import annotations

import argparse
import asyncio
import os
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from tablets import Sent, Tablet, Wire

from panelwright.store import Person, open_store, place_of

HERE = Path(__file__).resolve().parent
HERON = HERE.parent / "examples" / "heron-moved.toml"


@dataclass(frozen=True)
class Round:
    """What one round measured; times in seconds."""

    acknowledged: list[float]
    announced: list[float]
    pages: list[float]
    late: int
    lost: int
    load: float
    busy_s: float


def free_port() -> int:
    with closing(socket.socket()) as sock:
        sock.bind(("127.0.0.1", 0))
        return int(sock.getsockname()[1])


def busy_s(process: int) -> float:
    """Give the processor time of a process, its helpers left out; 0 where the system tells none."""
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def served(command: list[str]) -> Iterator[int]:
    """A server in a process of its own, ended with the block."""
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    try:
        yield process.pid
    finally:
        process.terminate()
        process.wait(30)


async def until_up(port: int) -> None:
    for _ in range(600):
        try:
            await Wire(port).open()
        except OSError:
            await asyncio.sleep(0.1)
        else:
            return
    raise RuntimeError("the server does not come up")


async def played(
    port: int, process: int, repairs: list[str], arguments: argparse.Namespace
) -> tuple[list[Tablet], float]:
    """Let the tablets work; give them and how long the server was busy for them."""
    await until_up(port)
    for name in repairs:  # what is made once a day is made before
        wire = Wire(port)
        await wire.open()
        await wire.whole("GET", f"/repairs/{name}", more="HX-Request: true\r\n")
    await asyncio.sleep(arguments.settle)
    before = busy_s(process)
    tablets = [
        Tablet(n, repairs[n % len(repairs)], port, shows=arguments.pages)
        for n in range(arguments.tablets)
    ]
    begin = time.perf_counter() + 1.0
    await asyncio.gather(*(one.run(begin, begin + arguments.seconds) for one in tablets))
    return tablets, busy_s(process) - before


def result(tablets: list[Tablet], stored: set[str], load: float, busy: float) -> Round:
    facts = [fact for tablet in tablets for fact in tablet.facts]
    announced = [when(fact, tablets) for fact in facts]
    return Round(
        acknowledged=[fact.done - fact.sent for fact in facts],
        announced=[one for one in announced if one is not None],
        pages=[took for tablet in tablets for took in tablet.pages],
        late=sum(one is None for one in announced),
        lost=sum(fact.id not in stored for fact in facts),
        load=load,
        busy_s=busy,
    )


def when(fact: Sent, tablets: list[Tablet]) -> float | None:
    """Give how long after it was sent the next tablet's stream told of a fact."""
    other = tablets[(fact.tablet + 1) % len(tablets)]
    for moment, repair, seq in other.told:
        if repair == fact.repair and seq >= fact.seq:
            return moment - fact.sent
    return None


def ours(folder: Path, arguments: argparse.Namespace) -> Round:
    names = [f"heron-{n}" for n in range(arguments.repairs)]
    with open_store(place_of(folder)) as store:
        store.remember(Person("Kim"))
        for name in names:
            store.import_text(HERON.read_text("utf-8"), person="Kim", name=name)
    port = free_port()
    command = [sys.executable, "-m", "panelwright", "serve", "--data", str(folder)]
    with served([*command, "--port", str(port)]) as process:
        tablets, busy = asyncio.run(played(port, process, names, arguments))
        load = os.getloadavg()[0]
    with open_store(place_of(folder), make=False) as store:
        assert store.verify().broken == ()
        stored = {str(fact.id) for name in names for fact in store.log(name).facts}
    return result(tablets, stored, load, busy)


def bare(folder: Path, arguments: argparse.Namespace) -> Round:
    names = [f"heron-{n}" for n in range(arguments.repairs)]
    folder.mkdir()
    port = free_port()
    bare_settings = argparse.Namespace(**{**vars(arguments), "settle": 1.0})
    with served([sys.executable, str(HERE / "bare_app.py"), str(folder), str(port)]) as process:
        tablets, busy = asyncio.run(played(port, process, names, bare_settings))
        load = os.getloadavg()[0]
    with closing(sqlite3.connect(folder / "bare.sqlite")) as connection:
        stored = {one for (one,) in connection.execute("SELECT id FROM fact")}
    return result(tablets, stored, load, busy)


def percentiles(times: list[float]) -> tuple[float, float, float]:
    cuts = statistics.quantiles(times, n=100, method="inclusive")
    return cuts[49], cuts[94], cuts[98]


def said(what: str, times: list[float]) -> str:
    if len(times) < 2:
        return f"  {what:34}   none"
    half, most, nearly_all = (1e3 * one for one in percentiles(times))
    return f"  {what:34} {half:8.1f} {most:8.1f} {nearly_all:8.1f} ms   ({len(times)})"


def tell(name: str, one: Round) -> None:
    each = 1e3 * one.busy_s / len(one.acknowledged)
    print(f"{name}: lost {one.lost}, not announced in time {one.late}, load {one.load:.1f}")
    print(f"  {'busy for each fact, all included':34} {each:8.1f} ms")
    print(said("acknowledged after, p50 p95 p99", one.acknowledged))
    print(said("told to another tablet after", one.announced))
    print(said("its page", one.pages), flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--tablets", type=int, default=30)
    parser.add_argument("--repairs", type=int, default=10)
    parser.add_argument("--settle", type=float, default=20.0)
    parser.add_argument("--no-pages", dest="pages", action="store_false")
    arguments = parser.parse_args()
    ratios: list[list[float]] = []
    lost = 0
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as name:
        for number in range(arguments.rounds):
            folder = Path(name)
            one = ours(folder / f"ours-{number}", arguments)
            other = bare(folder / f"bare-{number}", arguments)
            lost += one.lost
            tell("Panelwright", one)
            tell("bare app", other)
            pair = [percentiles(side.acknowledged) for side in (one, other)]
            ratios.append([a / b for a, b in zip(*pair, strict=True)])
            print(
                "ratio  p50 {:.1f}  p95 {:.1f}  p99 {:.1f}   (aim: p95 under 3)".format(*ratios[-1])
            )
    if arguments.rounds > 1:
        middle = [statistics.median(column) for column in zip(*ratios, strict=True)]
        print("median p50 {:.1f}  p95 {:.1f}  p99 {:.1f}".format(*middle))
    if lost:
        sys.exit(f"{lost} facts were lost")


if __name__ == "__main__":
    main()
