"""Fixtures that several rooms share."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# no verdict of a test hangs on how fast or how busy the machine is
settings.register_profile(
    "panelwright", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("panelwright")

ROOT = Path(__file__).resolve().parents[1]


LONG = (
    *("test_main_job.py", "test_checks_killed.py", "test_look.py", "test_front.py"),
    "test_fit_page.py",
)
"""Begun first, so that none of them is what the rest waits for in the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put long files first, else keep the order."""
    place = {name: number for number, name in enumerate(LONG)}
    items.sort(key=lambda item: place.get(item.path.name, len(LONG)))


@pytest.fixture(scope="session")
def reference_folder() -> Path:
    """Published instances that are read where they lie and never copied into the project."""
    named = os.environ.get("PANELWRIGHT_REFERENCE")
    folder = Path(named) if named else ROOT.parent / "shared" / "reference"
    if not folder.is_dir():
        pytest.skip(f"the reference folder is not here ({folder}); set PANELWRIGHT_REFERENCE")
    return folder


@pytest.fixture(scope="session")
def examples() -> Path:
    """The folder of the demonstration files."""
    return ROOT / "examples"
