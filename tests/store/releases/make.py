"""Write what this version exports and backs up, for later versions to open.

Run once before a release: python -m tests.store.releases.make. What a release wrote is never
written again.
"""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from tests.store.making import facts, picture, shows, withdrawal

from panelwright import __version__
from panelwright.facts.fold import fold
from panelwright.facts.log import log_bytes
from panelwright.quantities import Units
from panelwright.store import Person, Theme, open_store, place_of

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
NAME = "heron-114"


def main(target: Path) -> None:
    """Make a store with one of everything, and keep what comes out of it."""
    target.mkdir()
    moment = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
    with (
        tempfile.TemporaryDirectory() as folder,
        open_store(place_of(folder), clock=lambda: moment) as store,
    ):
        example = (ROOT / "examples" / "heron.toml").read_text(encoding="utf-8")
        store.import_text(example, person="Kim")
        photo = store.add_photo(picture(1, (160, 120)))
        taken_back = store.log(NAME).facts[-1]
        store.append(NAME, [shows(1, photo.sha256), withdrawal(2, of=taken_back)])
        store.start("heron-115", facts(10, 3))
        store.remember(Person("Kim", Units.IN, Theme.DARK))
        store.export_repair(NAME, target / f"{NAME}.zip")
        (target / f"{NAME}.jsonl").write_bytes(log_bytes(store.log(NAME)))
        store.back_up(target / "backup.zip")
        expected = {
            "heads": {one.name: one.head for one in store.repairs()},
            "facts": {one.name: one.facts for one in store.repairs()},
            "photo": photo.sha256,
            "withdrawn": str(taken_back.id),
            "parts": [part.id for part in fold(store.log(NAME)).repair.parts],
        }
    (target / "expected.json").write_text(json.dumps(expected, indent=1) + "\n")


if __name__ == "__main__":
    main(HERE / __version__)
