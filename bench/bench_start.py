"""How long `panelwright --help` takes beside `python -c pass`."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    begin = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin


def main() -> None:
    """Run both in turn and print the ratio."""
    tool = [sys.executable, "-m", "panelwright", "--help"]
    bare = [sys.executable, "-c", "pass"]
    seconds(tool)
    pairs = [(seconds(tool), seconds(bare)) for _ in range(15)]
    ratios = [one / other for one, other in pairs]
    print(f"panelwright --help   {statistics.median(a for a, _ in pairs) * 1e3:7.1f} ms")
    print(f"python -c pass       {statistics.median(b for _, b in pairs) * 1e3:7.1f} ms")
    print(f"ratio                {statistics.median(ratios):7.1f}   (aim: under 10)")


if __name__ == "__main__":
    main()
