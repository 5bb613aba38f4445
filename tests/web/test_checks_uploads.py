"""Uploads that mean ill: no picture, 200 MB, bombs of pixels and of bytes, a path in a name."""

from __future__ import annotations

import hashlib
import json
import select
import socket
import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from PIL import Image
from starlette.testclient import TestClient

from panelwright.errors import PhotoError
from panelwright.store import Person, place_of
from panelwright.web.desk import Desk
from panelwright.web.security import MOST_BYTES
from panelwright.web.visit import COOKIE
from tests.web.browser import Served
from tests.web.conftest import PERSON, key_of
from tests.web.test_photos import add, picture

MOST_SLACK = 12_000_000
"""Bytes on their way in the buffers of both ends of a connection."""
MOST_MEMORY = 200_000_000
CHUNK = 1 << 16


# ------------------------------------------------------------------- 200 MB


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, examples: Path) -> Iterator[Served]:
    with Served(place_of(tmp_path_factory.mktemp("large"))) as served:
        text = (examples / "heron.toml").read_text("utf-8")
        served.desk.store.import_text(text, person="Berta")
        served.desk.store.remember(Person(PERSON))
        yield served


WAYS = {"photo": "/repairs/heron-114/photos", "api": "/api/photos", "file": "/start/file"}


@pytest.mark.parametrize("path", WAYS.values(), ids=WAYS)
@pytest.mark.parametrize("told", [True, False], ids=["length told", "length not told"])
def test_200_mb_are_refused_before_they_have_arrived(
    served: Served, path: str, *, told: bool
) -> None:
    sent, answer = poured(served.address, path, 200_000_000, told=told)
    assert answer.startswith(b"HTTP/1.1 413 "), answer[:200]
    assert sent < (0 if told else MOST_BYTES) + MOST_SLACK


def test_what_is_just_small_enough_arrives_whole(served: Served) -> None:
    sent, answer = poured(served.address, WAYS["api"], 24_000_000, told=False)
    assert sent > 24_000_000
    assert answer.startswith(b"HTTP/1.1 422 "), answer[:200]  # no picture


def poured(address: str, path: str, size: int, *, told: bool) -> tuple[int, bytes]:
    """Send a file piece by piece until the server answers; how much it took, and its answer."""
    url = urlsplit(address)
    begin = b'--x\r\nContent-Disposition: form-data; name="%s"; filename="p.jpg"\r\n\r\n' % {
        "/repairs/heron-114/photos": b"photo"
    }.get(path, b"file")
    end = b"\r\n--x--\r\n"
    length = f"Content-Length: {len(begin) + size + len(end)}"
    head = (
        f"POST {path} HTTP/1.1\r\nHost: {url.netloc}\r\nOrigin: {address}\r\n"
        f"Cookie: {COOKIE}={PERSON}\r\nContent-Type: multipart/form-data; boundary=x\r\n"
        f"{length if told else 'Transfer-Encoding: chunked'}\r\n\r\n"
    )

    def framed(data: bytes) -> bytes:
        return data if told else b"%x\r\n%s\r\n" % (len(data), data)

    piece = framed(b"\xff" * CHUNK)
    with socket.create_connection((str(url.hostname), url.port or 0), timeout=30.0) as wire:
        wire.sendall(head.encode() + framed(begin))
        sent = 0
        with suppress(BrokenPipeError, ConnectionResetError):  # it may refuse before it has all
            while sent < size and not select.select([wire], [], [], 0)[0]:
                wire.sendall(piece)
                sent += CHUNK
            if sent >= size:
                wire.sendall(framed(end) + (b"" if told else framed(b"")))
        return sent, wire.recv(4096)


# ------------------------------------------------------------------- photos


def png_that_says(width: int, height: int) -> bytes:
    """A small PNG file that unpacks to much more."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    packed = zlib.compressobj(9)
    rows = b"".join(packed.compress(bytes(20_001)) for _ in range(min(height, 20_000)))
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", rows + packed.flush())
        + chunk(b"IEND", b"")
    )


def text_bomb() -> bytes:
    """A PNG file whose comment unpacks to 100 MB."""
    data = b"note\x00\x00" + zlib.compress(bytes(100_000_000), 9)
    part = b"zTXt" + data
    extra = struct.pack(">I", len(data)) + part + struct.pack(">I", zlib.crc32(part))
    whole = picture("PNG")
    return whole[:33] + extra + whole[33:]


def gif() -> bytes:
    file = BytesIO()
    Image.new("P", (20, 20)).save(file, "GIF")
    return file.getvalue()


BAD = {
    "words": lambda: b"this is no picture",
    "a page": lambda: b"<!doctype html><script>alert(1)</script>",
    "a drawing with a script": lambda: b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>",
    "another format": gif,
    "half a picture": lambda: picture()[:300],
    "a head alone": lambda: b"\xff\xd8\xff\xe0\x00\x10JFIF",
    "400 million pixels": lambda: png_that_says(20_000, 20_000),
    "more pixels than can be counted": lambda: png_that_says(2**31 - 1, 2**31 - 1),
    "a comment that unpacks to 100 MB": text_bomb,
}


@pytest.mark.parametrize("data", BAD.values(), ids=BAD)
def test_what_is_no_good_picture_comes_back_with_a_sentence(
    heron: TestClient, desk: Desk, data: Callable[[], bytes]
) -> None:
    sent = data()
    assert len(sent) < 1_000_000
    before = desk.store.log("heron-114")
    files = sorted(desk.settings.place.photos.rglob("*"))
    status, page = add(heron, sent, note="kept words")
    answer = heron.post("/api/photos", files={"file": ("p.jpg", sent)})
    assert (status, answer.status_code) == (422, 422)
    assert "kept words" in page
    assert desk.store.log("heron-114") == before
    assert sorted(desk.settings.place.photos.rglob("*")) == files


SWELL = [
    "400 million pixels",
    "more pixels than can be counted",
    "a comment that unpacks to 100 MB",
]


@pytest.mark.parametrize("name", SWELL)
def test_a_bomb_of_pixels_fills_no_memory(desk: Desk, name: str) -> None:
    sent = BAD[name]()
    with memory() as peak, pytest.raises(PhotoError):
        desk.store.add_photo(sent)
    assert peak[0] < MOST_MEMORY


class memory:  # noqa: N801 - used as a function
    """Measures the most memory that Python takes in a block."""

    def __enter__(self) -> list[int]:
        tracemalloc.start()
        self.peak = [0]
        return self.peak

    def __exit__(self, *_: object) -> None:
        self.peak[0] = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()


NAMES = ["../../evil.jpg", "/etc/passwd", "..\\..\\evil.jpg", "a\x00b.jpg", "x" * 3000, ".", ""]


@pytest.mark.parametrize("name", NAMES)
def test_the_name_of_an_uploaded_file_is_not_used(
    heron: TestClient, desk: Desk, tmp_path: Path, name: str
) -> None:
    key = key_of(heron.get("/start").text)
    before = {path for path in tmp_path.rglob("*") if path.is_file()}
    head = 'form-data; name="photo"; filename="' + name.replace("\\", "\\\\") + '"'
    lines = [f'form-data; name="{field}"' for field in ("key", "of", "note")]
    parts = [(head, picture()), *zip(lines, (key.encode(), b"", b""), strict=True)]
    body = b"".join(
        b"--x\r\nContent-Disposition: %s\r\n\r\n%s\r\n" % (head.encode(), data)
        for head, data in parts
    )
    answer = heron.post(
        WAYS["photo"],
        content=body + b"--x--\r\n",
        headers={"content-type": "multipart/form-data; boundary=x"},
    )
    assert answer.status_code in (303, 400, 422)
    new = {path for path in tmp_path.rglob("*") if path.is_file()} - before
    photos = desk.settings.place.photos
    assert {path.parent for path in new if path.suffix == ".jpg"} <= {photos}
    assert not [path for path in new if "evil" in path.name or "passwd" in path.name]
    for path in new:
        if path.suffix == ".jpg":
            assert hashlib.sha256(path.read_bytes()).hexdigest() == path.stem


# ------------------------------------------------------------------- exported repairs


def bring(client: TestClient, data: bytes, name: str = "r.zip") -> tuple[int, str]:
    key = key_of(client.get("/start").text)
    answer = client.post(
        "/start/file",
        files={"file": (name, data, "application/zip")},
        data={"key": key, "as": "kept-name"},
    )
    return answer.status_code, answer.text


def exported(desk: Desk) -> dict[str, bytes]:
    """The members of a repair that was exported with one photo."""
    from tests.store.making import shows  # noqa: PLC0415

    photo = desk.store.add_photo(picture())
    desk.store.append("heron-114", [shows(1, photo.sha256)])
    file = BytesIO()
    desk.store.write_bundle("heron-114", file)
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(members: dict[str, bytes]) -> bytes:
    """An archive of these members, all pressed, whose list says what is in it."""
    manifest = json.loads(members["manifest.json"])
    manifest["files"] = {
        name: {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}
        for name, data in members.items()
        if name != "manifest.json"
    }
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        archive.writestr("manifest.json", json.dumps(manifest))
        for name, data in members.items():
            if name != "manifest.json":
                photo = name.endswith(".jpg") and len(data) < 100_000
                kind = zipfile.ZIP_STORED if photo else zipfile.ZIP_DEFLATED
                archive.writestr(name, data, kind)
    return file.getvalue()


def test_an_exported_repair_comes_back(heron: TestClient, desk: Desk) -> None:
    assert bring(heron, packed(exported(desk)))[0] == 303


def zeros_in_the_log(members: dict[str, bytes]) -> dict[str, bytes]:
    return {**members, "log.jsonl": bytes(500_000_000)}


def a_path(members: dict[str, bytes]) -> dict[str, bytes]:
    return {**members, "../../evil.jpg": b"x"}


def photos_that_swell(members: dict[str, bytes]) -> dict[str, bytes]:
    """Good pictures with 24 MB of nothing behind each."""
    more = {}
    for number in range(20):
        data = picture() + bytes([number]) + bytes(24_000_000)
        more[f"photos/{hashlib.sha256(data).hexdigest()}.jpg"] = data
    return {**members, **more}


BOMBS = {
    "500 MB of zeros for a log": zeros_in_the_log,
    "a path in a name": a_path,
    "photos that swell to 480 MB": photos_that_swell,
}


def photos_with_something_behind(members: dict[str, bytes]) -> dict[str, bytes]:
    data = picture() + b"where it was taken"
    return {**members, f"photos/{hashlib.sha256(data).hexdigest()}.jpg": data}


@pytest.mark.parametrize("change", BOMBS.values(), ids=BOMBS)
def test_a_bomb_of_an_archive_is_refused_and_fills_no_memory(
    heron: TestClient,
    desk: Desk,
    tmp_path: Path,
    change: Callable[[dict[str, bytes]], dict[str, bytes]],
) -> None:
    data = packed(change(exported(desk)))
    assert len(data) < 2_000_000
    before = sorted(tmp_path.rglob("*"))
    with memory() as peak:
        status, page = bring(heron, data)
    assert status == 422
    assert "This file cannot be taken" in page
    assert "kept-name" in page
    assert peak[0] < MOST_MEMORY
    assert sorted(tmp_path.rglob("*")) == before
    assert [one.name for one in desk.store.repairs()] == ["heron-114"]


def test_a_photo_with_something_behind_its_end_is_refused(heron: TestClient, desk: Desk) -> None:
    status, page = bring(heron, packed(photos_with_something_behind(exported(desk))))
    assert status == 422
    assert "holds more than a picture of ours" in page


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"PK\x03\x04 not really",
        b"\x00" * 1000,
        b"[" * 100_000,
        b"a = " + b"[" * 100_000,
        b"a = " + b"{x=" * 50_000,
        b"x" * 1_000_000,
        b"[repair]\nname = '../../evil'\n",
        b"[repair]\nname = '" + b"n" * 100_000 + b"'\n",
    ],
    ids=range(9),
)
@pytest.mark.parametrize("name", ["r.zip", "../../r.toml"])
def test_what_is_no_repair_comes_back_with_a_sentence(
    client: TestClient, desk: Desk, data: bytes, name: str
) -> None:
    status, page = bring(client, data, name)
    assert status == 422
    assert "kept-name" in page
    assert desk.store.repairs() == ()
