"""The job file's outcome as the keys that others rely on."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.record.answer import Packet


def as_json(packet: Packet) -> dict[str, object]:
    """Pages, hash and signatures of a job file."""
    return {
        "pages": packet.pages,
        "sha256": packet.sha256,
        "signed_by": list(packet.signed_by),
        "replaced": list(packet.replaced),
    }
