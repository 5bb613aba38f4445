"""The demonstration files are valid, say that they are invented, and come out of their scripts."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from scipy.spatial.transform import Rotation

from examples import make_box_side, make_heron, simulator
from panelwright.facts.file import read

NAMES = ("heron.toml", "heron-moved.toml", "heron-found.toml", "box-side-inches.toml")


def _text(folder: Path, name: str) -> str:
    return (folder / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_every_example_is_valid_and_fits_together(examples: Path, name: str) -> None:
    assert read(_text(examples, name)).problems == ()


@pytest.mark.parametrize("name", NAMES)
def test_every_example_is_marked_invented(examples: Path, name: str) -> None:
    text = _text(examples, name)
    assert read(text).repair.invented
    assert "invented" in text.split("\nformat = 1")[0]


def test_no_example_is_forgotten_here(examples: Path) -> None:
    assert {path.name for path in examples.glob("*.toml")} == set(NAMES)


def _heron(text: str, _: str) -> str:
    return make_heron.heron(text)


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("heron.toml", _heron),
        ("heron-moved.toml", make_heron.moved),
        ("heron-found.toml", make_heron.found),
        ("box-side-inches.toml", lambda text, _: make_box_side.box_side(text)),
    ],
)
def test_the_script_writes_the_same_file_again(
    examples: Path, name: str, made: Callable[[str, str], str]
) -> None:
    text = _text(examples, name)
    assert made(text, _text(examples, "heron.toml")) == text


def test_a_changed_reading_would_be_written_back(examples: Path) -> None:
    text = _text(examples, "heron.toml")
    spoiled = text.replace('gap = "1 mm"', 'gap = "9 mm"', 1)
    assert spoiled != text
    assert make_heron.heron(spoiled) == text


def test_a_file_without_its_marks_is_refused() -> None:
    with pytest.raises(ValueError, match="exactly once"):
        simulator.with_block("nothing here", "make_heron.py", "points", "")


def test_the_heads_state_the_true_misplacement(examples: Path) -> None:
    def stated(vector: tuple[float, float, float], decimals: int) -> str:
        return "[" + ", ".join(f"{value:.{decimals}f}" for value in vector) + "]"

    first, later = _text(examples, "heron.toml"), _text(examples, "heron-moved.toml")
    assert f"shift {stated(make_heron.FIRST_SHIFT_MM, 1)} mm" in first
    assert f"by {stated(make_heron.FIRST_TURN_MRAD, 1)} mrad" in first
    assert f"shift {stated(make_heron.MOVED_SHIFT_MM, 2)} mm" in later
    assert f"turn {stated(make_heron.MOVED_TURN_MRAD, 2)} mrad" in later


@pytest.mark.second_route
def test_the_simulator_turns_as_scipy_does() -> None:
    placement = simulator.Placement((1.0, 2.0, 3.0), (300.0, -200.0, 500.0), (10.0, 20.0, 30.0))
    home = (700.0, -400.0, 150.0)
    arm = [a - b for a, b in zip(home, placement.middle, strict=True)]
    turned = Rotation.from_rotvec([0.3, -0.2, 0.5]).apply(arm)
    expected = [
        m + t + s for m, t, s in zip(placement.middle, turned, placement.shift_mm, strict=True)
    ]
    assert placement.moved(home) == pytest.approx(expected, abs=1e-9)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("sixteenths", "words"),
    [(198, "12 3/8 in"), (-1, "-1/16 in"), (0, "0 in"), (32, "2 in"), (-24, "-1 1/2 in")],
)
def test_inches_are_written_as_a_technician_does(sixteenths: int, words: str) -> None:
    assert simulator.inches(Fraction(sixteenths, 16) * Fraction(254, 10)) == words


@pytest.mark.exact
def test_millimetres_are_written_without_idle_noughts() -> None:
    assert simulator.millimetres(Fraction(3, 2)) == "1.5 mm"
    assert simulator.millimetres(Fraction(1834)) == "1834 mm"
    assert simulator.millimetres(Fraction(-1, 1000)) == "0 mm"


@pytest.mark.invariant
def test_a_tool_scatters_as_much_as_it_says() -> None:
    tool = simulator.Instrument(u_mm=0.5, step_mm=Fraction(1, 100), scale=1e-3)
    technician = simulator.Technician(seed=1)
    shown = [float(technician.reads(1000.0, tool)) for _ in range(4000)]
    middle = sum(shown) / len(shown)
    spread = math.sqrt(sum((value - middle) ** 2 for value in shown) / len(shown))
    # 4000 draws: the mean within 4 × 0.5/√4000 = 0.03, the spread within 4 × 0.5/√8000 = 0.022
    assert middle == pytest.approx(1001.0, abs=0.03)
    assert spread == pytest.approx(0.5, abs=0.022)
