"""What was acknowledged is on the disk: by the trace of a writer, and by killing one."""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from pathlib import Path
from shutil import which

import pytest

from panelwright.store import Place

HERE = Path(__file__).parent


def traced(folder: Path) -> list[str]:
    """Give the writes, syncs and renames of a process that stores and acknowledges, in order."""
    strace = which("strace")
    if strace is None:
        pytest.skip("strace is not here (apt-get install strace)")
    trace = folder / "trace"
    calls = "trace=write,pwrite64,fsync,fdatasync,rename,renameat,renameat2"
    command = [sys.executable, HERE / "acknowledged.py", folder / "data"]
    done = subprocess.run(  # noqa: S603 - nothing from outside is in it
        [strace, "-f", "-y", "-s", "40", "-e", calls, "-o", trace, *command],
        capture_output=True,
        text=True,
        check=False,
    )
    if "ptrace" in done.stderr:
        pytest.skip(f"strace may not look here: {done.stderr.strip()}")
    assert done.returncode == 0, done.stderr
    return trace.read_text().splitlines()


def before(lines: list[str], acknowledgement: str) -> list[str]:
    """Give what was done between the last acknowledgement and this one."""
    end = next(n for n, line in enumerate(lines) if f'"{acknowledgement}' in line)
    starts = [n for n, line in enumerate(lines[:end]) if '"acknowledged' in line]
    return lines[starts[-1] + 1 if starts else 0 : end]


def last(pattern: str, lines: list[str]) -> int:
    found = [n for n, line in enumerate(lines) if re.search(pattern, line)]
    assert found, f"no {pattern} in {lines}"
    return found[-1]


@pytest.mark.exact
def test_the_disk_has_it_before_it_is_acknowledged(tmp_path: Path) -> None:
    lines = traced(tmp_path)
    for number in range(3):
        done = before(lines, f"acknowledged fact {number}")
        written = last(r" pwrite64\(\d+<[^>]*panelwright\.sqlite-wal>", done)
        synced = last(r" f(data)?sync\(\d+<[^>]*panelwright\.sqlite-wal>\) *= 0", done)
        assert written < synced
    done = before(lines, "acknowledged photo")
    file = last(r" fsync\(\d+<[^>]*photos/\.[0-9a-f]{64}\.jpg[^>]*part>\) *= 0", done)
    renamed = last(r" rename\w*\(.*\.part", done)
    folder = last(r" fsync\(\d+<[^>]*/photos>\) *= 0", done)
    row = last(r" f(data)?sync\(\d+<[^>]*panelwright\.sqlite-wal>\) *= 0", done)
    assert file < renamed < folder < row


@pytest.mark.exact
@pytest.mark.skipif(not hasattr(os, "fork"), reason="a process is forked")
def test_a_killed_writer_loses_nothing_that_it_acknowledged(place: Place) -> None:
    seed = random.randrange(2**32)  # noqa: S311
    more = [place.url] if place.url else []
    command = [sys.executable, str(HERE / "killed.py"), "50", str(seed), str(place.folder), *more]
    done = subprocess.run(  # noqa: S603 - nothing from outside is in it
        command, capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert (told["missing"], told["broken"]) == (0, []), f"seed {seed}: {told}"
    assert told["stored"] >= told["acknowledged"] >= 50
