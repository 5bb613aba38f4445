"""Run the study of heatings: ./go bench heat_study --heatings 500 --jobs 2 --write."""

from __future__ import annotations

import argparse
import os
import pickle
import sys
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bench.heat_study.report import SHARES, held, page
from bench.heat_study.study import run, run_broken

PAGE = Path(__file__).resolve().parents[2] / "docs" / "heat-study.md"


def main() -> int:
    """The study; exit status 1 where a band over all heatings does not hold."""
    parser = argparse.ArgumentParser(prog="./go bench heat_study", description=__doc__)
    parser.add_argument("--heatings", type=int, default=500)
    parser.add_argument("--broken", type=int, default=50, help="heatings a kind of the second part")
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--write", action="store_true", help=f"write {PAGE.name}")
    parser.add_argument("--keep", type=Path, help="keep the trials here (pickled)")
    said = parser.parse_args()
    trials = run(said.heatings, said.seed, said.jobs)
    spoilt = run_broken(said.broken, said.seed, said.jobs)
    if said.keep:
        said.keep.write_bytes(pickle.dumps((trials, spoilt)))
    text = page(trials, spoilt, said.heatings, said.seed)
    if said.write:
        PAGE.write_text(text, encoding="utf-8")
    print(text)
    return 0 if all(found.holds(SHARES[stated]) for _, _, stated, found in held(trials)) else 1


if __name__ == "__main__":
    sys.exit(main())
