"""Pages are made a few at a time; facts, files and streams pass them."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from panelwright.web.crowd import AT_ONCE, Crowd

Scope = dict[str, Any]


def page(path: str = "/repairs/a", method: str = "GET") -> Scope:
    return {"type": "http", "method": method, "path": path}


class Slow:
    """An application that answers when it is let."""

    def __init__(self) -> None:
        self.inside: list[str] = []
        self.begun = asyncio.Event()
        self.go = asyncio.Event()
        self.sent = asyncio.Event()

    async def __call__(self, scope: Scope, _: object, send: Any) -> None:
        self.inside.append(scope["path"])
        await self.go.wait()
        await send({"type": "http.response.start"})
        await self.sent.wait()


async def never() -> dict[str, object]:
    raise AssertionError("nothing is received")


async def sent(message: object) -> None:
    """Takes what is sent."""


async def settled() -> None:
    for _ in range(10):
        await asyncio.sleep(0)


def test_no_more_pages_than_that_are_made_at_once_and_others_pass() -> None:
    async def test() -> None:
        slow = Slow()
        crowd = Crowd(slow)  # type: ignore[arg-type]
        tasks = [asyncio.create_task(crowd(page(), never, sent)) for _ in range(AT_ONCE + 3)]
        await settled()
        assert len(slow.inside) == AT_ONCE
        assert crowd.asked == AT_ONCE + 3
        others = [page("/api/repairs"), page("/events"), page("/static/a")]
        tasks += [asyncio.create_task(crowd(one, never, sent)) for one in others]
        await settled()
        assert len(slow.inside) == AT_ONCE + len(others)
        slow.go.set()  # pages are made, and nobody takes them yet
        await settled()
        assert len(slow.inside) == AT_ONCE + 3 + len(others)
        assert not crowd.asked
        slow.sent.set()
        await asyncio.gather(*tasks)
        assert not crowd.asked

    asyncio.run(test())


def test_a_page_that_fails_or_is_given_up_leaves_its_place() -> None:
    async def fails(*_: object) -> None:
        raise ValueError("no")

    async def test() -> None:
        crowd = Crowd(fails)  # type: ignore[arg-type]
        for _ in range(AT_ONCE + 1):
            with pytest.raises(ValueError, match="no"):
                await crowd(page(), never, sent)
        assert not crowd.asked
        slow = Slow()
        crowd = Crowd(slow)  # type: ignore[arg-type]
        tasks = [asyncio.create_task(crowd(page(), never, sent)) for _ in range(AT_ONCE + 1)]
        await settled()
        tasks[-1].cancel()
        tasks[0].cancel()
        await settled()
        assert crowd.asked == AT_ONCE - 1
        slow.go.set()
        slow.sent.set()
        await asyncio.gather(*tasks, return_exceptions=True)
        assert not crowd.asked

    asyncio.run(test())


def test_a_page_lets_facts_pass_but_not_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    async def test() -> None:
        slow = Slow()
        crowd = Crowd(slow)  # type: ignore[arg-type]
        fact = asyncio.create_task(crowd(page("/say", "POST"), never, sent))
        await settled()
        shown = asyncio.create_task(crowd(page(), never, sent))
        await settled()
        assert slow.inside == ["/say"]
        slow.go.set()
        slow.sent.set()
        await fact
        await shown
        assert slow.inside == ["/say", "/repairs/a"]
        slow.go.clear()
        monkeypatch.setattr("panelwright.web.crowd.STAND_BACK_S", 0.01)
        fact = asyncio.create_task(crowd(page("/say", "POST"), never, sent))
        await settled()
        shown = asyncio.create_task(crowd(page("/repairs/b"), never, sent))
        await asyncio.sleep(0.1)
        assert slow.inside[-2:] == ["/say", "/repairs/b"]
        slow.go.set()
        await asyncio.gather(fact, shown)

    asyncio.run(test())


def test_who_only_waits_lets_the_next_in() -> None:
    async def test() -> None:
        slow = Slow()
        crowd = Crowd(slow)  # type: ignore[arg-type]
        scopes = [page() for _ in range(AT_ONCE + 1)]
        tasks = [asyncio.create_task(crowd(one, never, sent)) for one in scopes]
        await settled()
        assert scopes[0]["place"].others_wait
        await asyncio.to_thread(scopes[0]["place"].step_aside)
        await settled()
        assert len(slow.inside) == AT_ONCE + 1
        assert not scopes[0]["place"].others_wait
        slow.go.set()
        slow.sent.set()
        await asyncio.gather(*tasks)
        assert not crowd.asked

    asyncio.run(test())
