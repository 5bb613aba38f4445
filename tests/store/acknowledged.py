"""Store three facts and acknowledge each on standard output. Run by a test, under strace."""

from __future__ import annotations

import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from panelwright.store import open_store, place_of
from tests.store.making import fact, picture

if __name__ == "__main__":
    with open_store(place_of(sys.argv[1])) as store:
        store.start("heron-114", [])
        for number in range(3):
            store.append("heron-114", [fact(number)])
            os.write(1, f"acknowledged fact {number}\n".encode())
        store.add_photo(picture())
        os.write(1, b"acknowledged photo\n")
