"""Several write at once, in threads and in processes, and nobody's fact is lost or doubled."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest
from sqlalchemy import event

from panelwright.facts.log import Log
from panelwright.store import Place, Store, open_store
from tests.store.making import fact, facts, picture

WRITERS, EACH = 4, 15
HERE = Path(__file__).parent


def check(store: Store, count: int) -> None:
    """All facts are there once, and the events tell of each in an order without a gap."""
    verified = store.verify()
    assert verified.broken == ()
    assert verified.facts == count
    events = store.since(0)
    assert [one.seq for one in events] == list(range(1, count + 1))
    for head in verified.heads:
        log = store.log(head.repair)
        assert log == Log().extend(log.facts)
        told = [one.id for one in events if one.repair == head.repair]
        assert told == [str(one.id) for one in log.facts]


@pytest.mark.invariant
def test_threads_of_one_store_and_of_several(store: Store, place: Place) -> None:
    for name in ("a", "b"):
        store.start(name, [])
    together = Barrier(WRITERS)

    def write(number: int) -> None:
        together.wait()
        with open_store(place, make=False, wait_s=30) as own:
            for k in range(EACH):
                mine = fact(1000 * number + k)
                shared = fact(500 + k)  # everybody sends this one
                (store if k % 2 else own).append("a" if k % 3 else "b", [mine, shared])

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write, range(WRITERS)))
    check(store, WRITERS * EACH + EACH)


@pytest.mark.invariant
def test_processes(store: Store, place: Place) -> None:
    store.start("a", [])
    script = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from tests.store.making import fact\n"
        "from panelwright.store import open_store, place_of\n"
        "with open_store(place_of(*sys.argv[3:]), make=False, wait_s=30) as store:\n"
        "    for k in range(int(sys.argv[2]), int(sys.argv[2]) + 15):\n"
        "        store.append('a', [fact(k)])\n"
    )
    more = [place.url] if place.url else []
    root = str(HERE.parents[1])
    running = [
        subprocess.Popen(  # noqa: S603 - nothing from outside is in it
            [sys.executable, "-c", script, root, str(1000 * n), str(place.folder), *more],
            stderr=subprocess.PIPE,
        )
        for n in range(3)
    ]
    for process in running:
        _, complaint = process.communicate()
        assert process.returncode == 0, complaint.decode()
    check(store, 45)


@pytest.mark.exact
def test_an_event_is_never_seen_after_a_later_one(store: Store, place: Place) -> None:
    """Whoever follows the numbers misses nothing, though repairs are written at once."""
    for name in ("a", "b"):
        store.start(name, [])
    seen: list[int] = []

    def write(name: str) -> None:
        with open_store(place, make=False, wait_s=30) as own:
            for k in range(20):
                own.append(name, [fact(k)])

    with ThreadPoolExecutor(2) as pool:
        work = [pool.submit(write, name) for name in ("a", "b")]
        while len(seen) < 40:
            seen += [one.seq for one in store.since(seen[-1] if seen else 0)]
            if all(one.done() for one in work) and not store.since(seen[-1] if seen else 0):
                break
    assert seen == list(range(1, 41))


@pytest.mark.exact
def test_a_photo_sent_by_several_at_once_is_stored_once(store: Store, place: Place) -> None:
    together = Barrier(3)

    def send(_: int) -> str:
        with open_store(place, make=False, wait_s=30) as own:
            together.wait()
            return own.add_photo(picture(1)).sha256

    with ThreadPoolExecutor(3) as pool:
        (sha256,) = set(pool.map(send, range(3)))
    assert store.verify().photos == (sha256,)
    assert [one.name for one in place.photos.iterdir()] == [f"{sha256}.jpg"]


def statements(store: Store, work: object) -> int:
    """Count what is asked of the database."""
    asked: list[str] = []

    def note(*told: object) -> None:
        asked.append(str(told[2]))

    event.listen(store._reader, "before_cursor_execute", note)
    event.listen(store._writer, "before_cursor_execute", note)
    work()  # type: ignore[operator]
    event.remove(store._reader, "before_cursor_execute", note)
    event.remove(store._writer, "before_cursor_execute", note)
    return len([one for one in asked if not one.startswith("BEGIN")])


@pytest.mark.exact
def test_lists_and_appends_ask_as_much_of_a_large_store_as_of_a_small_one(store: Store) -> None:
    def counts(number: int) -> tuple[int, ...]:
        return (
            statements(store, store.repairs),
            statements(store, lambda: store.since(0)),
            statements(store, lambda: store.log("r0")),
            statements(store, lambda: store.append("r0", [fact(number)])),
            statements(store, lambda: store.append("r0", facts(number, 30))),
        )

    store.start("r0", facts(0, 1))
    store.log("r0")
    small = counts(1000)
    assert small[:3] == (1, 1, 1)
    for n in range(1, 20):
        store.start(f"r{n}", facts(0, 10))
    store.append("r0", facts(0, 200))
    store.log("r0")
    assert counts(2000) == small


@pytest.mark.exact
def test_the_list_says_how_far_each_repair_is(store: Store) -> None:
    store.start("b", facts(0, 3))
    store.start("a", [])
    store.append("b", facts(3, 1))
    empty, some = store.repairs()
    assert (empty.name, empty.facts, empty.head, empty.last_seq, empty.recorded_at) == (
        "a",
        0,
        None,
        0,
        None,
    )
    assert (some.name, some.facts, some.last_seq) == ("b", 4, 4)
    assert some.head == store.log("b").head
    assert some.recorded_at == fact(3).recorded_at
