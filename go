#!/usr/bin/env python3
"""Set up and run Panelwright from a checkout: ./go demo | test | check | run ARGS | bench | lock.

Standard library only. Makes .venv beside this file from the lock files in locks/, with uv where
it is on the PATH and pip otherwise. Linux and macOS: ./go demo. Windows: py go demo.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
LOCKS = {"run": ROOT / "locks" / "run.txt", "dev": ROOT / "locks" / "dev.txt"}
OLDEST, TOO_NEW = (3, 11), (3, 15)


def call(*command: str | Path, **more: object) -> None:
    """Run a command; stop with its exit status where it fails."""
    done = subprocess.run([str(part) for part in command], cwd=ROOT, check=False, **more)
    if done.returncode:
        sys.exit(done.returncode)


def stamp(kind: str) -> Path:
    """The file that says that .venv was made from the present lock."""
    what = LOCKS[kind].read_bytes() + (ROOT / "pyproject.toml").read_bytes()
    what += f"{sys.version_info[:2]} {ROOT}".encode()
    return VENV / f"ready-{kind}-{hashlib.sha256(what).hexdigest()[:16]}"


def set_up(kind: str) -> None:
    """Make .venv where it is missing or made from another lock; 'dev' holds all of 'run'."""
    if PYTHON.exists() and any(stamp(k).exists() for k in {kind, "dev"}):
        return
    if not OLDEST <= sys.version_info[:2] < TOO_NEW:
        sys.exit(f"Panelwright needs Python 3.11 to 3.14; this is {sys.version.split()[0]}.")
    uv = shutil.which("uv")
    print(f"Setting up .venv with {'uv' if uv else 'pip'} (once) ...", flush=True)
    lock = LOCKS[kind]
    if uv:
        call(uv, "venv", "-q", "--allow-existing", "--python", sys.executable, VENV)
        call(uv, "pip", "install", "-q", "--python", PYTHON, "--require-hashes", "-r", lock)
        install = (uv, "pip", "install", "-q", "--python", PYTHON)
    else:
        if not PYTHON.exists():
            call(sys.executable, "-m", "venv", VENV)
        pip = (PYTHON, "-m", "pip", "install", "-q", "--disable-pip-version-check")
        call(*pip, "--require-hashes", "-r", lock)
        install = pip
    call(*install, "--no-deps", "--no-build-isolation", "-e", ".")
    for old in VENV.glob("ready-*"):
        old.unlink()
    stamp(kind).touch()


def demo(arguments: list[str]) -> None:
    """Load the demonstration repair, print every answer and write its job file."""
    set_up("run")
    call(PYTHON, "-m", "panelwright", "demo", *arguments)


def test(arguments: list[str]) -> None:
    """Run all tests, side by side on several cores, then those that watch the clock."""
    set_up("dev")
    if arguments:
        call(PYTHON, "-m", "pytest", *arguments)
        return
    workers = str(min(4, (os.cpu_count() or 1) + 1))  # browsers and servers leave cores idle
    several = ("-n", workers, "--dist", "loadfile", "--no-loadscope-reorder")
    call(PYTHON, "-m", "pytest", *several, "-m", "not alone")
    call(PYTHON, "-m", "pytest", "-m", "alone")


def check(_arguments: list[str]) -> None:
    """Formatter, linter, strict types, import contracts."""
    set_up("dev")
    call(PYTHON, "-m", "ruff", "format", "--check", ".")
    call(PYTHON, "-m", "ruff", "check", ".")
    call(PYTHON, "-m", "mypy")
    call(BIN / "lint-imports")


def run(arguments: list[str]) -> None:
    """Run the panelwright command."""
    set_up("run")
    call(PYTHON, "-m", "panelwright", *arguments)


def bench(arguments: list[str]) -> None:
    """Run the benchmarks; they report ratios. fit_, sheet_, heat_study: are bands honest."""
    set_up("dev")
    for script in sorted((ROOT / "bench").glob("bench_*.py")):
        if not arguments or script.stem.removeprefix("bench_") in arguments:
            print(f"== {script.name}", flush=True)
            call(PYTHON, script)
    if arguments and (ROOT / "bench" / arguments[0] / "__main__.py").exists():
        call(PYTHON, "-m", f"bench.{arguments[0]}", *arguments[1:])


def lock(_arguments: list[str]) -> None:
    """Write the lock files anew from pyproject.toml (needs uv)."""
    uv = shutil.which("uv") or str(BIN / "uv")
    base = (uv, "pip", "compile", "-q", "--universal", "--generate-hashes", "--python-version")
    base += ("3.11", "--no-annotate", "--custom-compile-command", "./go lock")
    call(*base, "pyproject.toml", "--group", "build", "-o", LOCKS["run"])
    call(*base, "pyproject.toml", "--group", "build", "--group", "dev", "-o", LOCKS["dev"])


WORDS = {f.__name__: f for f in (demo, test, check, run, bench, lock)}


def main() -> None:
    """Do what the first word says."""
    word = sys.argv[1] if len(sys.argv) > 1 else ""
    if word not in WORDS:
        print(__doc__)
        for name, what in WORDS.items():
            print(f"  ./go {name:<6} {what.__doc__}")
        sys.exit(0 if word in {"", "help", "-h", "--help"} else 2)
    WORDS[word](sys.argv[2:])


if __name__ == "__main__":
    main()
