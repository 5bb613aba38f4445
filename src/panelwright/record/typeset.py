"""From data to PDF by typst, with the shipped fonts and nothing from the machine."""

from __future__ import annotations

import json
import re
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.errors import PanelwrightError
from panelwright.record.glyphs import FAMILIES, FONT_FOLDER, missing

if TYPE_CHECKING:
    import typst

    from panelwright.record.data import Data

PAGES = "<pages>"
"""Where the template says how many pages there are."""

TEMPLATE_FOLDER = Path(__file__).parent / "template"
MAIN = str(TEMPLATE_FOLDER / "main.typ")


class TypesetError(PanelwrightError):
    """The typesetter refused or warned; a job file is never written half right."""


@cache
def shipped_fonts() -> typst.Fonts:
    """The fonts of the job file and no others."""
    import typst  # noqa: PLC0415 - loaded only when a page is set

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    absent = set(FAMILIES) - set(fonts.families())
    if absent:
        raise TypesetError(f"fonts of the job file are not there: {', '.join(sorted(absent))}")
    return fonts


class Density(StrEnum):
    """How close the lines stand; the template knows both."""

    NORMAL = "normal"
    CLOSE = "close"


_COUNT = re.compile(rb"/Type\s*/Pages\s*/Count (\d+)")


def counted(pdf: bytes) -> int | None:
    """Pages as the file's page tree counts them; None where that is not plain to see.

    To ask the typesetter would set the whole file once more. A text in the file may look like a
    page tree, so several different counts are none.
    """
    found = {int(count) for count in _COUNT.findall(pdf)}
    return found.pop() if len(found) == 1 else None


def typeset(data: Data, density: Density = Density.NORMAL) -> tuple[bytes, int]:
    """Set the job file; the PDF and its number of pages.

    Raises
    ------
    TypesetError
        Where the typesetter fails or warns, such as of a font that it cannot find.
    """
    import typst  # noqa: PLC0415

    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    strange = missing(text)
    if strange:
        raise TypesetError(f"no shipped font shows {', '.join(f'U+{ord(c):04X}' for c in strange)}")
    inputs = {"data": text, "density": density.value}
    fonts, root = shipped_fonts(), str(TEMPLATE_FOLDER)
    try:
        pdf, warnings = typst.compile_with_warnings(
            MAIN, root=root, font_paths=fonts, ignore_system_fonts=True, sys_inputs=inputs
        )
        pages = counted(pdf) or int(
            typst.query(
                MAIN,
                PAGES,
                field="value",
                one=True,
                root=root,
                font_paths=fonts,
                ignore_system_fonts=True,
                sys_inputs=inputs,
            )
        )
    except typst.TypstError as error:
        raise TypesetError(f"the job file could not be set: {error.diagnostic}") from error
    if warnings:
        raise TypesetError("; ".join(str(warning.message) for warning in warnings))
    return pdf, pages
