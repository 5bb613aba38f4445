"""The stream: in order, from where the browser was, and never a fact less."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import aclosing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright.facts.entry import Fact
from panelwright.facts.identity import uuid7
from panelwright.store import Event, Store, open_store, place_of
from panelwright.web.live import MOST_WAITING, Live, Message, messages_of
from panelwright.web.security import CSP

pytestmark = pytest.mark.alone

MOMENT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def fact(number: int, kind: str = "vehicle") -> Fact:
    return Fact(
        id=uuid7(MOMENT, (number << 6).to_bytes(10, "big")),
        kind=kind,
        body={"label": str(number)},
        observed_at=MOMENT,
        recorded_at=MOMENT,
        person="Anna",
    )


@pytest.fixture
def store(tmp_path: Path) -> Store:
    opened = open_store(place_of(tmp_path))
    opened.start("a", [fact(0)])
    opened.start("b", [fact(1)])
    return opened


def heard(text: str) -> tuple[str, int | None, dict[str, object]]:
    """An encoded message read again: event, number, data."""
    fields = dict(line.split(": ", 1) for line in text.strip().split("\n"))
    number = int(fields["id"]) if "id" in fields else None
    return fields["event"], number, json.loads(fields["data"])


async def each(stream: AsyncIterator[str]) -> AsyncIterator[str]:
    """The messages one by one, however many came at once."""
    async with aclosing(stream):  # type: ignore[type-var]
        async for some in stream:
            for one in some.rstrip("\n").split("\n\n"):
                yield f"{one}\n\n"


async def take(stream: AsyncIterator[str], count: int) -> list[tuple[str, int | None, object]]:
    return [heard(await anext(stream)) for _ in range(count)]


def run(store: Store, test: Callable[[Live], object], poll_s: float = 0.01) -> None:
    async def within() -> None:
        live = Live(store, poll_s=poll_s, clock=lambda: MOMENT)
        await live.start()
        try:
            async with asyncio.timeout(20):
                await test(live)  # type: ignore[misc]
        finally:
            await live.close()
            store.close()

    asyncio.run(within())


def test_what_was_missed_comes_first_then_what_is_new(store: Store) -> None:
    async def test(live: Live) -> None:
        stream = each(live.stream(0))
        told = await take(stream, 3)
        assert [one[:2] for one in told] == [("hello", None), ("fact", 1), ("fact", 2)]
        store.append("a", [fact(3)])
        live.stir()
        assert (await take(stream, 1))[0] == (
            "fact",
            3,
            {"seq": 3, "repair": "a", "kinds": ["vehicle"]},
        )

    run(store, test)


def test_numbers_only_grow_while_two_write_at_once(store: Store) -> None:
    async def test(live: Live) -> None:
        stream = each(live.stream(2))
        await take(stream, 1)

        def write(name: str, start: int) -> None:
            for number in range(start, start + 40):
                store.append(name, [fact(number)])
                live.stir()

        numbers: list[int] = []
        writers = asyncio.gather(
            asyncio.to_thread(write, "a", 100), asyncio.to_thread(write, "b", 200)
        )
        while not numbers or numbers[-1] < 82:
            numbers.append((await take(stream, 1))[0][1] or 0)
        await writers
        assert numbers == sorted(set(numbers))
        assert numbers[-1] == 82

    run(store, test)


def test_facts_of_another_program_are_told(store: Store, tmp_path: Path) -> None:
    async def test(live: Live) -> None:
        stream = each(live.stream(2))
        await take(stream, 1)
        with open_store(place_of(tmp_path)) as other:
            await asyncio.to_thread(other.append, "b", [fact(7)])
        assert (await take(stream, 1))[0][:2] == ("fact", 3)

    run(store, test)


def test_an_answer_has_no_number(store: Store) -> None:
    async def test(live: Live) -> None:
        stream = each(live.stream(2))
        await take(stream, 1)
        live.tell(Message("answer", {"repair": "a"}))
        assert await take(stream, 1) == [("answer", None, {"repair": "a"})]

    run(store, test)


def test_a_browser_that_is_far_behind_is_sent_off(store: Store) -> None:
    async def test(live: Live) -> None:
        stream = each(live.stream(2))
        await take(stream, 1)
        behind = asyncio.ensure_future(anext(stream))
        await asyncio.sleep(0)
        for _ in range(MOST_WAITING + 2):
            live._spread([Message("answer", {"repair": "a"})])
        await behind
        left = [message async for message in stream]
        assert len(left) < MOST_WAITING + 2
        assert not live._listeners

    run(store, test)


def test_streams_end_with_the_server(store: Store) -> None:
    async def test(live: Live) -> None:
        stream = each(live.stream(2))
        await take(stream, 1)
        waiting = asyncio.ensure_future(anext(stream))
        await asyncio.sleep(0.02)
        await live.close()
        with pytest.raises(StopAsyncIteration):
            await waiting

    run(store, test)


def test_one_message_for_each_repair_and_none_before_its_number() -> None:
    events = [
        Event(5, "a", 0, "part", "x"),
        Event(6, "b", 0, "part", "y"),
        Event(7, "a", 1, "joint", "z"),
        Event(8, "a", 2, "part", "w"),
    ]
    assert [(m.seq, m.data["repair"], m.data["kinds"]) for m in messages_of(events)] == [
        (6, "b", ["part"]),
        (8, "a", ["joint", "part"]),
    ]


def test_a_store_that_fails_for_a_while_is_followed_again(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    from panelwright.errors import StoreLostError  # noqa: PLC0415

    async def test(live: Live) -> None:
        stream = each(live.stream(2))
        live.tell(Message("answer", {"repair": "a"}))
        await take(stream, 2)
        real, failures = store.since, []

        def since(seq: int) -> tuple[Event, ...]:
            if len(failures) < 3:
                failures.append(seq)
                raise StoreLostError("gone")
            return real(seq)

        monkeypatch.setattr(store, "since", since)
        store.append("a", [fact(9)])
        assert (await take(stream, 1))[0][:2] == ("fact", 3)
        assert len(failures) == 3

    run(store, test)


@pytest.mark.parametrize(
    ("headers", "query", "first"),
    [
        ({}, "?after=0", 1),
        ({"last-event-id": "1"}, "?after=0", 2),
        ({"last-event-id": "none"}, "", None),
        ({"last-event-id": "9" * 40}, "", None),
    ],
)
def test_the_stream_goes_on_from_where_the_browser_was(
    client: TestClient, headers: dict[str, str], query: str, first: int | None
) -> None:
    from tests.web.conftest import desk_of  # noqa: PLC0415

    desk = desk_of(client)
    desk.store.start("a", [fact(0)])
    desk.store.start("b", [fact(1)])
    ended = asyncio.run_coroutine_threadsafe

    async def end() -> None:
        await asyncio.sleep(0.2)
        await desk.live.close()

    assert desk.live._loop is not None
    ended(end(), desk.live._loop)
    answer = client.get(f"/events{query}", headers=headers)
    assert answer.headers["content-type"].startswith("text/event-stream")
    assert answer.headers["content-security-policy"] == CSP
    numbers = [heard(one)[1] for one in answer.text.split("\n\n") if one]
    told = [number for number in numbers if number is not None]
    assert told == ([] if first is None else list(range(first, 3)))
