"""Photos: taken, shown, refused."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import key_of, planned

PHOTOS = "/repairs/heron-114/photos"


def picture(kind: str = "JPEG", size: tuple[int, int] = (40, 30)) -> bytes:
    file = BytesIO()
    Image.new("RGB", size, "grey").save(file, kind)
    return file.getvalue()


def add(client: TestClient, data: bytes, **fields: str) -> tuple[int, str]:
    key = key_of(client.get("/start").text)
    answer = client.post(
        PHOTOS,
        files={"photo": ("p.jpg", data, "image/jpeg")},
        data={"key": key, "of": "", "note": "", **fields},
    )
    return answer.status_code, answer.text


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_and_shown(heron: TestClient, desk: Desk, kind: str) -> None:
    assert add(heron, picture(kind), of="part:outer", note="torn at the lamp")[0] == 303
    fact = desk.store.log("heron-114").facts[-1]
    assert (fact.kind, fact.body["part"], fact.body["by"]) == ("photo", "outer", "Anna")
    page = heron.get(PHOTOS).text
    assert "torn at the lamp" in page
    image = heron.get(f"/photos/{fact.body['sha256']}.jpg")
    assert image.headers["content-type"] == "image/jpeg"
    assert "immutable" in image.headers["cache-control"]
    assert Image.open(BytesIO(image.content)).size == (40, 30)


def test_a_photo_shows_a_finding_or_a_step(heron: TestClient, desk: Desk) -> None:
    planned(desk)
    page = heron.get(PHOTOS).text
    assert 'value="step:' in page
    assert 'value="part:outer"' in page


def test_the_same_photo_sent_twice_is_one_fact(heron: TestClient, desk: Desk) -> None:
    key = key_of(heron.get("/start").text)
    before = len(desk.store.log("heron-114").entries)
    for _ in range(2):
        assert add(heron, picture(), key=key)[0] == 303
    assert len(desk.store.log("heron-114").entries) == before + 1


@pytest.mark.parametrize(
    ("data", "words"),
    [(b"", "Take a photo"), (b"no picture", "picture"), (picture()[:200], "")],
)
def test_what_is_no_photo_comes_back(
    heron: TestClient, desk: Desk, data: bytes, words: str
) -> None:
    before = desk.store.log("heron-114")
    status, page = add(heron, data, note="kept words", of="part:outer")
    assert status == 422
    assert words in page
    assert "kept words" in page
    assert 'value="part:outer" selected' in page
    assert desk.store.log("heron-114") == before


def test_a_picture_with_too_many_pixels_is_refused(heron: TestClient) -> None:
    bomb = picture("PNG", (9000, 9000))
    status, _ = add(heron, bomb)
    assert status == 422


def test_a_photo_of_nothing_that_is_there_is_refused(heron: TestClient) -> None:
    assert add(heron, picture(), of="part:moon")[0] == 422


@pytest.mark.parametrize("name", ["0" * 64, "abc", "../panelwright.sqlite", "%2e%2e"])
def test_no_other_file_is_given(heron: TestClient, name: str) -> None:
    assert heron.get(f"/photos/{name}.jpg").status_code == 404
