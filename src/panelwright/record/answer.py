"""What the job file is made from, and what comes out."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Paper(StrEnum):
    """Paper the job file is printed on."""

    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True)
class Packet:
    """A job file as a PDF.

    Parameters
    ----------
    pdf : bytes
        The file itself.
    pages : int
        Number of pages.
    sha256 : str
        SHA-256 of `pdf`, 64 hexadecimal digits.
    signed_by : tuple of str
        Who signed what is in it, each once, in order of signing.
    replaced : tuple of str
        Characters that the job file's fonts lack and that stand as a box in it.
    """

    pdf: bytes
    pages: int
    sha256: str
    signed_by: tuple[str, ...]
    replaced: tuple[str, ...] = ()
