"""Run the honesty study: python -m bench.fit_study --repairs 2000 --seed 20261125 --jobs 2."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path

from bench.fit_study.broken import second
from bench.fit_study.report import aims, page
from bench.fit_study.study import first

from panelwright import __version__

PAGE = Path(__file__).resolve().parents[2] / "docs" / "fit-study.md"


def main() -> int:
    """Both studies; exit status 1 where an aim does not hold."""
    parser = argparse.ArgumentParser(prog="./go bench fit_study", description=__doc__)
    parser.add_argument("--repairs", type=int, default=2000, help="repairs of the first study")
    parser.add_argument("--broken", type=int, default=240, help="repairs a kind of the second")
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--write", action="store_true", help=f"write {PAGE.name}")
    said = parser.parse_args()
    trials = first(said.repairs, said.seed, said.jobs)
    degraded = second(said.broken, said.seed, said.jobs)
    heading = {
        "made": datetime.now(UTC).date().isoformat(),
        "version": __version__,
        "repairs": f"{said.repairs}, and {said.broken} for each kind of the second study",
        "seed": str(said.seed),
    }
    text = page(trials, degraded, heading)
    if said.write:
        PAGE.write_text(text, encoding="utf-8")
    else:
        print(text)
    for aim in aims(trials):
        print(f"{'holds' if aim.holds else 'FAILS'}: {aim.what}: {aim.measured}")
    return 0 if all(aim.holds for aim in aims(trials)) else 1


if __name__ == "__main__":
    sys.exit(main())
