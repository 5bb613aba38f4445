"""What the command says once the job file is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.cli.text import bullet, wrap
from panelwright.cli.text import page as laid_out

if TYPE_CHECKING:
    from panelwright.quantities import Units
    from panelwright.record.answer import Packet


def page(packet: Packet, units: Units) -> str:  # noqa: ARG001 - every room's page takes units
    """Pages, hash, who signed, and what could not be shown."""
    pages = "1 page" if packet.pages == 1 else f"{packet.pages} pages"
    signed = ", ".join(packet.signed_by) or "nobody yet"
    lines = [
        f"Job file: {pages}",
        f"SHA-256:  {packet.sha256}",
        f"Signed by: {signed}",
    ]
    notes = ""
    if packet.replaced:
        codes = ", ".join(f"U+{ord(character):04X}" for character in packet.replaced)
        notes = bullet(f"Characters that its fonts lack stand as a box in it: {codes}.")
    return laid_out(
        "\n".join(lines), notes, wrap("An aid, not an approval: the maker's procedure governs.")
    )
