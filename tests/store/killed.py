"""Kill a writing process at random moments, and look each time for what it acknowledged.

Run by a test: killed.py ROUNDS SEED FOLDER [URL]. Each round forks a writer with four threads that
print the number of a fact after the store took it; the writer is killed after a random number of
them, at whatever it is doing.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
from pathlib import Path
from threading import Thread
from typing import NoReturn

sys.path.insert(0, str(Path(__file__).parents[2]))

from panelwright.store import Place, open_store, place_of
from tests.store.making import fact, identity

THREADS = 4
A_ROUND = 100_000
REPAIRS = ("heron-114", "heron-115")


def write_for_ever(place: Place, first: int, pipe: int) -> NoReturn:
    """Store one fact after the other, and say each number once it is stored."""
    store = open_store(place, make=False)

    def work(thread: int) -> None:
        number = first + thread
        while True:
            store.append(REPAIRS[thread % 2], [fact(number)])
            os.write(pipe, f"{number}\n".encode())
            number += THREADS

    threads = [Thread(target=work, args=(thread,)) for thread in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    os._exit(0)


def one_round(place: Place, first: int, chosen: random.Random) -> list[int]:
    """Start a writer, kill it, and give the numbers that it said were stored."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        write_for_ever(place, first, writing)
    os.close(writing)
    wanted = chosen.randrange(1, 25)
    said = b""
    while said.count(b"\n") < wanted:
        said += os.read(reading, 4096)
    select.select([], [], [], chosen.uniform(0, 0.005))  # so that it dies at any point of its work
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while more := os.read(reading, 4096):
        said += more
    os.close(reading)
    return [int(line) for line in said.split(b"\n")[:-1]]


def main(rounds: int, seed: int, place: Place) -> None:
    """Print what was acknowledged, what of it is missing, and what broke."""
    chosen = random.Random(seed)  # noqa: S311
    acknowledged: set[int] = set()
    missing = 0
    for number in range(rounds):
        acknowledged |= set(one_round(place, number * A_ROUND, chosen))
        with open_store(place, make=False) as store:  # this mends what the writer left behind
            stored = {event.id for event in store.since(0, most=1_000_000)}
        missing += len({str(identity(one)) for one in acknowledged} - stored)
    with open_store(place, make=False) as store:
        broken = [str(one) for one in store.verify().broken]
    told = {"acknowledged": len(acknowledged), "stored": len(stored)}
    sys.stdout.write(json.dumps({**told, "missing": missing, "broken": broken}))


if __name__ == "__main__":
    where = place_of(sys.argv[3], *sys.argv[4:])
    with open_store(where) as made:
        for name in REPAIRS:
            made.start(name, [])
    main(int(sys.argv[1]), int(sys.argv[2]), where)
