"""How long the demonstration takes from file to PDF, beside starting Python."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

EXAMPLE = Path(__file__).resolve().parents[1] / "examples" / "heron.toml"


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    begin = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin


def main() -> None:
    """Write the job file several times and print the median."""
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "job.pdf")
        tool = [sys.executable, "-m", "panelwright", "record", str(EXAMPLE), "-o", out]
        demo = [sys.executable, "-m", "panelwright", "demo", "-o", out]
        bare = [sys.executable, "-c", "pass"]
        for name, command in (("record: file to PDF", tool), ("demo: answers and PDF", demo)):
            seconds(command)
            pairs = [(seconds(command), seconds(bare)) for _ in range(5)]
            times = [a for a, _ in pairs]
            ratio = statistics.median(a / b for a, b in pairs)
            print(
                f"{name:<24} {statistics.median(times):5.2f} s "
                f"({min(times):.2f} to {max(times):.2f}), {ratio:.0f} × python -c pass"
            )
    print("aim: the whole demo under 3 s on two cores")


if __name__ == "__main__":
    main()
