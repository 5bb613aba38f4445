"""Only the picture is stored, and what is no picture is refused in words."""

from __future__ import annotations

import random
import struct
import zlib
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from panelwright.errors import PhotoError
from panelwright.store.pictures import (
    LONGEST_SIDE,
    MOST_BYTES,
    MOST_PIXELS,
    as_stored,
    prepared,
)
from tests.store.making import picture

ORIENTATION, MAKER, GPS, LATITUDE = 0x0112, 0x010F, 0x8825, 2


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


def saved(image: Image.Image, form: str, **more: object) -> bytes:
    file = BytesIO()
    image.save(file, form, **more)
    return file.getvalue()


def halves(size: tuple[int, int] = (80, 40)) -> Image.Image:
    """Red on the left, blue on the right."""
    image = Image.new("RGB", size, (255, 0, 0))
    image.paste((0, 0, 255), (size[0] // 2, 0, *size))
    return image


def png(width: int, height: int, *chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG whose header says this size, whatever follows."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    parts = [(b"IHDR", header), *chunks, (b"IEND", b"")]
    body = b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in parts
    )
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.exact
def test_place_device_and_comment_are_gone_and_the_picture_is_upright() -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # to be turned by 90° clockwise
    exif[MAKER] = "secret maker"
    exif.get_ifd(GPS)[LATITUDE] = (52.0, 30.0, 0.0)
    told = saved(halves(), "JPEG", exif=exif, comment=b"secret comment", icc_profile=b"x" * 200)
    assert b"secret maker" in told
    assert b"secret comment" in told
    found = prepared(told)
    assert (found.width, found.height) == (40, 80)
    image = opened(found.data)
    assert [name for name, _ in image.applist] == ["APP0"]  # type: ignore[attr-defined]
    assert not image.getexif()
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "dpi"}
    assert b"secret" not in found.data
    top, bottom = image.getpixel((20, 10)), image.getpixel((20, 70))
    assert isinstance(top, tuple)
    assert isinstance(bottom, tuple)
    assert top[0] > 200 > top[2] + 150  # what was on the left is on top
    assert bottom[2] > 200 > bottom[0] + 150


@pytest.mark.exact
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "MPO"])
def test_each_form_comes_out_as_jpeg(form: str) -> None:
    found = prepared(saved(halves(), form))
    assert opened(found.data).format == "JPEG"
    assert opened(found.data).size == (80, 40) == (found.width, found.height)
    assert as_stored(found.data) == found


@pytest.mark.exact
def test_text_in_a_png_is_gone() -> None:
    info = PngImagePlugin.PngInfo()
    info.add_text("Comment", "secret text")
    told = saved(halves(), "PNG", pnginfo=info)
    assert b"secret text" in told
    assert b"secret text" not in prepared(told).data


@pytest.mark.exact
def test_what_is_clear_becomes_white() -> None:
    image = Image.new("RGBA", (16, 16), (0, 0, 0, 0))
    assert opened(prepared(saved(image, "PNG")).data).getpixel((8, 8)) == (255, 255, 255)
    palette = Image.new("P", (16, 16), 0)
    assert prepared(saved(palette, "PNG", transparency=0)).width == 16


@pytest.mark.exact
def test_sixteen_bits_of_grey_are_scaled_and_not_cut() -> None:
    image = Image.new("I;16", (16, 16), 0x8000)
    pixel = opened(prepared(saved(image, "PNG")).data).getpixel((8, 8))
    assert pixel == (128, 128, 128)


@pytest.mark.exact
def test_a_large_picture_is_made_smaller() -> None:
    found = prepared(saved(Image.new("RGB", (6000, 3000), "grey"), "JPEG"))
    assert (found.width, found.height) == (LONGEST_SIDE, 2000)


@pytest.mark.exact
def test_the_same_picture_has_the_same_hash() -> None:
    assert prepared(picture(1)).sha256 == prepared(picture(1)).sha256
    assert prepared(picture(1)).sha256 != prepared(picture(2)).sha256


@pytest.mark.exact
@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"hello", "no JPEG, PNG or WebP picture"),
        (b"%PDF-1.7\n" + bytes(100), "no JPEG, PNG or WebP picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no JPEG, PNG or WebP picture"),
        (saved(halves(), "GIF"), "no JPEG, PNG or WebP picture"),
        (saved(halves(), "TIFF"), "no JPEG, PNG or WebP picture"),
        (picture()[:200], "no JPEG, PNG or WebP picture"),
        (bytes(MOST_BYTES + 1), "25 MB; a photo may have 25 MB at most"),
        (png(8000, 5001), r"8000 × 5001 pixels; at most 40 million"),
        (png(20_000, 20_000), "too many pixels"),
        (png(100_000, 100_000), "too many pixels"),
        (png(0, 10), "no JPEG, PNG or WebP picture"),
    ],
    ids=[
        "empty",
        "text",
        "pdf",
        "svg",
        "gif",
        "tiff",
        "cut short",
        "too heavy",
        "40 MP",
        "bomb",
        "larger bomb",
        "no width",
    ],
)
def test_what_cannot_be_taken_is_refused_in_words(data: bytes, words: str) -> None:
    with pytest.raises(PhotoError, match=words):
        prepared(data)


@pytest.mark.exact
def test_a_text_that_unpacks_to_gigabytes_is_refused() -> None:
    packed = zlib.compress(bytes(200_000_000), 9)
    assert len(packed) < 1_000_000
    bomb = png(10, 10, (b"zTXt", b"Comment\0\0" + packed))
    with pytest.raises(PhotoError, match="no JPEG, PNG or WebP picture"):
        prepared(bomb)


@pytest.mark.exact
def test_the_limit_itself_is_taken() -> None:
    assert MOST_PIXELS == 8000 * 5000
    with pytest.raises(PhotoError, match="no JPEG"):  # its header passes; it has no pixels
        prepared(png(8000, 5000))


@pytest.mark.exact
@pytest.mark.parametrize(
    "data",
    [
        saved(halves(), "PNG"),
        saved(halves(), "JPEG", comment=b"secret"),
        saved(halves(), "JPEG", icc_profile=b"x" * 200),
        saved(Image.new("RGB", (LONGEST_SIDE + 1, 4)), "JPEG"),
        picture()[:300],
        b"",
    ],
    ids=["png", "comment", "profile", "too wide", "cut short", "empty"],
)
def test_a_picture_that_we_would_not_have_written_does_not_come_in(data: bytes) -> None:
    with pytest.raises(PhotoError):
        as_stored(data)


SAMPLES = [picture(0, (24, 16), form) for form in ("JPEG", "PNG", "WEBP", "MPO")]


@pytest.mark.invariant
@settings(max_examples=150, deadline=None)
@given(st.sampled_from(SAMPLES), st.integers(0, 2**32), st.integers(1, 12))
def test_a_broken_picture_is_taken_or_refused_and_nothing_else(
    sample: bytes, seed: int, count: int
) -> None:
    data = bytearray(sample)
    chosen = random.Random(seed)  # noqa: S311
    for _ in range(count):
        data[chosen.randrange(len(data))] = chosen.randrange(256)
    try:
        assert as_stored(prepared(bytes(data)).data)
    except PhotoError as refused:
        assert str(refused)  # noqa: PT017
