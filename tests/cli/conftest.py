"""Run the command line in this process."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from click.testing import CliRunner

from panelwright.cli.main import cli


@dataclass(frozen=True)
class Said:
    """What a command printed and how it ended."""

    status: int
    out: str
    err: str


@pytest.fixture(scope="session")
def panelwright() -> Callable[..., Said]:
    """The command; a traceback in it fails the test."""

    def run(*arguments: str, stdin: str | None = None) -> Said:
        result = CliRunner().invoke(cli, list(arguments), input=stdin, catch_exceptions=False)
        return Said(result.exit_code, result.stdout, result.stderr)

    return run
