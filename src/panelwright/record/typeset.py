"""From data to PDF by typst, with the shipped fonts and nothing from the machine."""

from __future__ import annotations

import json
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


class TypesetError(PanelwrightError):
    """The typesetter refused or warned; a job file is never written half right."""


@cache
def _fonts() -> typst.Fonts:
    import typst  # noqa: PLC0415 - loaded only when a page is set

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    absent = set(FAMILIES) - set(fonts.families())
    if absent:
        raise TypesetError(f"fonts of the job file are not there: {', '.join(sorted(absent))}")
    return fonts


@cache
def _template() -> tuple[tuple[str, bytes], ...]:
    files = sorted(TEMPLATE_FOLDER.glob("*.typ"))
    return tuple((file.name, file.read_bytes()) for file in files)


def typeset(data: Data) -> tuple[bytes, int]:
    """Set the job file; the PDF and its number of pages.

    Raises
    ------
    TypesetError
        Where the typesetter fails or warns, such as of a font that it cannot find.
    """
    import typst  # noqa: PLC0415

    files = dict(_template())
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    strange = missing(text)
    if strange:
        raise TypesetError(f"no shipped font shows {', '.join(f'U+{ord(c):04X}' for c in strange)}")
    files["data.json"] = text.encode()
    try:
        pdf, warnings = typst.compile_with_warnings(
            files, font_paths=_fonts(), ignore_system_fonts=True, format="pdf"
        )
        pages = int(
            typst.query(
                files, PAGES, field="value", one=True, font_paths=_fonts(), ignore_system_fonts=True
            )
        )
    except typst.TypstError as error:
        raise TypesetError(f"the job file could not be set: {error.diagnostic}") from error
    if warnings:
        raise TypesetError("; ".join(str(warning.message) for warning in warnings))
    return bytes(pdf), pages
