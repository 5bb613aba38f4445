"""Appends per second of the store beside bare sqlite3 that inserts the same rows as durably.

Both commit each fact by itself, in WAL with synchronous=FULL, into a file on the same disk. The
bare script has its rows ready: it makes no entry, no hash, and looks nothing up. Also: a fact by
several writers at once, whole batches, and reading a long log back.
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from panelwright.facts.entry import Fact
from panelwright.facts.identity import uuid7
from panelwright.facts.log import Log
from panelwright.store import open_store, place_of
from panelwright.store.writing import row_of

COUNT = 300
ROUNDS = 5
MOMENT = datetime(2026, 11, 20, 8, 10, tzinfo=UTC)
TABLE = """
PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;
CREATE TABLE fact (seq INTEGER PRIMARY KEY, repair TEXT, number INTEGER, id TEXT, kind TEXT,
  previous TEXT, hash TEXT, entry BLOB, recorded_at TEXT, UNIQUE (repair, number),
  UNIQUE (repair, id));
"""


def reading(number: int) -> Fact:
    moment = MOMENT + timedelta(seconds=number)
    body = {"from": "RA", "to": "L3", "value": f"{1800 + number % 50} mm", "with": "tape"}
    return Fact(
        id=uuid7(moment, number.to_bytes(10)),
        kind="reading",
        body=body,
        observed_at=moment,
        recorded_at=moment,
        person="Kim",
    )


FACTS = [reading(number) for number in range(COUNT)]
ROWS = [
    tuple(row_of(entry, "heron-114", number=number, seq=number + 1).values())
    for number, entry in enumerate(Log().extend(FACTS).entries)
]


def seconds(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def bare(folder: Path) -> float:
    with closing(sqlite3.connect(folder / "bare.sqlite", isolation_level=None)) as connection:
        connection.executescript(TABLE)

        def work() -> None:
            for row in ROWS:
                connection.execute("BEGIN IMMEDIATE")
                connection.execute("INSERT INTO fact VALUES (?,?,?,?,?,?,?,?,?)", row)
                connection.execute("COMMIT")

        return seconds(work)


def ours(folder: Path, url: str | None = None) -> float:
    with open_store(place_of(folder / "ours", url)) as store:
        name = f"r{time.time_ns()}"
        store.start(name, [])
        return seconds(lambda: [store.append(name, [one]) for one in FACTS])


def others(folder: Path) -> dict[str, float]:
    with open_store(place_of(folder / "more")) as store:
        store.start("batch", [])
        store.start("many", [])
        batch = seconds(lambda: store.append("batch", FACTS))
        with ThreadPoolExecutor(8) as pool:
            many = seconds(lambda: list(pool.map(lambda one: store.append("many", [one]), FACTS)))
        first = seconds(lambda: store.log("many"))
        again = seconds(lambda: store.log("many"))
        verify = seconds(store.verify)
    return {
        f"one batch of {COUNT}": batch,
        "eight threads, a fact each": many,
        f"read a log of {COUNT}": first,
        "read it again": again,
        "verify": verify,
    }


def main() -> None:
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as name:
        pairs = []
        for number in range(ROUNDS):
            folder = Path(name) / str(number)
            folder.mkdir()
            pairs.append((ours(folder), bare(folder)))
        store = statistics.median(one for one, _ in pairs)
        script = statistics.median(one for _, one in pairs)
        ratio = statistics.median(one / other for one, other in pairs)
        print(f"store          {COUNT / store:8.0f} appends/s   {store / COUNT * 1e3:6.2f} ms each")
        print(
            f"bare sqlite3   {COUNT / script:8.0f} appends/s   {script / COUNT * 1e3:6.2f} ms each"
        )
        print(f"ratio          {ratio:8.1f}   (aim: under 3)")
        for what, took in others(Path(name)).items():
            print(f"{what:28} {took * 1e3:8.1f} ms")
        if len(sys.argv) > 1:
            took = ours(Path(name), sys.argv[1])
            print(f"PostgreSQL     {COUNT / took:8.0f} appends/s")


if __name__ == "__main__":
    main()
