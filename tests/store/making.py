"""Facts and pictures for the tests of the store."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from io import BytesIO
from uuid import UUID

from PIL import Image
from sqlalchemy import text

from panelwright.facts.entry import Fact
from panelwright.facts.identity import uuid7
from panelwright.store import Store

MOMENT = datetime(2026, 11, 20, 8, 10, tzinfo=UTC)


def identity(number: int) -> UUID:
    return uuid7(MOMENT + timedelta(milliseconds=number), number.to_bytes(10))


def fact(number: int, **changed: object) -> Fact:
    """A fact with its own id for each number."""
    told: dict[str, object] = {
        "id": identity(number),
        "kind": "conditions",
        "body": {"humidity": number % 100},
        "observed_at": MOMENT + timedelta(seconds=number),
        "recorded_at": MOMENT + timedelta(seconds=number),
        "person": "Kim",
    }
    return Fact.model_validate(told | changed)


def facts(first: int, count: int) -> list[Fact]:
    return [fact(number) for number in range(first, first + count)]


def withdrawal(number: int, of: Fact) -> Fact:
    return fact(number, kind="withdrawn", body={"id": str(of.id), "reason": "typed wrong"})


def picture(seed: int = 0, size: tuple[int, int] = (64, 48), form: str = "JPEG") -> bytes:
    """A picture file of noise, another for each seed."""
    noise = random.Random(seed).randbytes(3 * size[0] * size[1])  # noqa: S311
    file = BytesIO()
    Image.frombytes("RGB", size, noise).save(file, form)
    return file.getvalue()


def shows(number: int, sha256: str) -> Fact:
    """A fact that shows a photo."""
    return fact(number, kind="photo", body={"part": "outer", "sha256": sha256})


def forced(store: Store, statement: str, **values: object) -> None:
    """Change what is stored behind the triggers' back."""
    with store._writer.begin() as connection:
        if connection.dialect.name == "sqlite":
            rows = connection.execute(
                text("SELECT sql, name FROM sqlite_master WHERE type='trigger'")
            )
            triggers = rows.all()
            for _, name in triggers:
                connection.execute(text(f"DROP TRIGGER {name}"))
            connection.execute(text(statement), values)
            for sql, _ in triggers:
                connection.exec_driver_sql(sql)
        else:
            for table in ("fact", "photo"):
                connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
            connection.execute(text(statement), values)
            for table in ("fact", "photo"):
                connection.execute(text(f"ALTER TABLE {table} ENABLE TRIGGER USER"))
