"""A server that is killed loses nothing that it acknowledged."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
ROUNDS = 50


@pytest.mark.invariant
def test_a_server_killed_under_load_keeps_what_it_acknowledged(tmp_path: Path) -> None:
    if not hasattr(os, "fork"):
        pytest.skip("processes cannot be copied here")
    seed = random.randrange(2**32)  # noqa: S311
    command = [sys.executable, str(HERE / "killed.py"), str(ROUNDS), str(seed), str(tmp_path)]
    done = subprocess.run(  # noqa: S603 - nothing from outside is in it
        command, capture_output=True, text=True, check=False, timeout=900
    )
    assert done.returncode == 0, f"seed {seed}: {done.stderr}"
    told = json.loads(done.stdout)
    assert (told["missing"], told["broken"]) == ([], []), f"seed {seed}: {told}"
    assert told["rounds"] == ROUNDS
    assert told["by_json"] > 50
    assert told["by_form"] > 20
    assert told["stored"] >= told["by_json"] + told["by_form"]
