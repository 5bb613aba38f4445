"""Fill a small disk with facts, then say what was told and what is there. Run by a test."""

from __future__ import annotations

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from panelwright.errors import StoreError
from panelwright.store import open_store, place_of
from tests.store.making import fact, picture


def refusal(work: object, *arguments: object) -> str:
    """Say with what words it was refused."""
    try:
        work(*arguments)  # type: ignore[operator]
    except StoreError as error:
        return f"{type(error).__name__}: {error}"
    return "done"


def main(disk: Path) -> None:
    """Store facts until the disk is full."""
    with open_store(place_of(disk / "data")) as store:
        store.start("heron-114", [])
        acknowledged, told = 0, "done"
        while told == "done" and acknowledged < 5000:
            told = refusal(store.append, "heron-114", [fact(acknowledged)])
            acknowledged += told == "done"
        stored = len(store.log("heron-114").entries)
        photo = refusal(store.add_photo, picture(1, (1200, 900)))
        backup = refusal(store.back_up, disk / "b.zip")
        left = [path.name for path in disk.rglob("*") if "part" in path.name or "work" in path.name]
        broken = len(store.verify().broken)
    # room is made, as the message says
    (disk / "ballast").unlink()
    with open_store(place_of(disk / "data")) as store:
        store.append("heron-114", [fact(acknowledged)])
        after = len(store.log("heron-114").entries)
    sys.stdout.write(
        json.dumps(
            {
                "fact": told,
                "acknowledged": acknowledged,
                "stored": stored,
                "photo": photo,
                "backup": backup,
                "left": left,
                "broken": broken,
                "after": after,
            }
        )
    )


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    (folder / "ballast").write_bytes(bytes(100_000))
    main(folder)
