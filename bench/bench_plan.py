"""Time the plan of the demonstration repairs: rooms, search and band, on one core."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from panelwright.facts.file import read
from panelwright.plan import gather, plan_of

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
SETS = (
    ("heron.toml",),
    ("heron-found.toml",),
    ("box-side-inches.toml",),
    ("heron.toml", "box-side-inches.toml"),
)


def main(sets: tuple[tuple[str, ...], ...] = SETS) -> None:
    for files in sets:
        repairs = [read((EXAMPLES / name).read_text(encoding="utf-8")) for name in files]
        start = time.process_time()
        answers = [gather(repair) for repair in repairs]
        asked = time.process_time()
        plan = plan_of(answers)
        done = time.process_time()
        gap = "–" if plan.gap is None else f"{100 * plan.gap:.1f} %"
        print(
            f"{' + '.join(files):45} {len(plan.steps):4} steps  rooms {asked - start:5.2f} s  "
            f"plan {done - asked:5.2f} s  {plan.status.value}, gap {gap}"
        )


if __name__ == "__main__":
    main(tuple((name,) for name in sys.argv[1:]) or SETS)
