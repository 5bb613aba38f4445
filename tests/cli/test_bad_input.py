"""Bad input gets a sentence with its place and an exit status, never a traceback."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.cli.conftest import Said

ROOMS = ("teardown", "joints", "fit", "bond", "quiet", "plan")
HERON = (Path(__file__).resolve().parents[2] / "examples" / "heron.toml").read_text(
    encoding="utf-8"
)


@pytest.mark.parametrize("command", [*ROOMS, "check", "overview"])
def test_a_file_that_is_not_there_is_said(panelwright: Callable[..., Said], command: str) -> None:
    said = panelwright(command, "nowhere.toml")
    assert said.status == 2
    assert "nowhere.toml: cannot be read" in said.out + said.err


@pytest.mark.parametrize("command", [*ROOMS, "check"])
def test_a_broken_file_is_refused_as_json_too(
    panelwright: Callable[..., Said], command: str
) -> None:
    said = panelwright(command, "-", "--json", stdin='[[part]]\nid = "a"\nthickness = "1,0 mm"\n')
    assert said.status == 2
    problems = json.loads(said.out)["problems"]
    assert problems[0]["where"] == "part[0].thickness"
    assert "1.0 mm" in problems[0]["what"]


@pytest.mark.parametrize("command", ROOMS)
def test_a_question_without_facts_is_not_answered_and_says_what_is_missing(
    panelwright: Callable[..., Said], command: str
) -> None:
    said = panelwright(command, "-", stdin='[repair]\nname = "x"\n[[part]]\nid = "outer"\n')
    assert said.status == 1
    assert len(said.err.strip()) > 20


def test_bytes_that_are_no_text_are_refused(
    panelwright: Callable[..., Said], tmp_path: Path
) -> None:
    path = tmp_path / "picture.toml"
    path.write_bytes(b"\xff\xd8\xff\xe0")
    said = panelwright("check", str(path))
    assert said.status == 2
    assert "UTF-8" in said.out + said.err


def test_a_folder_is_no_file(panelwright: Callable[..., Said], tmp_path: Path) -> None:
    assert panelwright("fit", str(tmp_path)).status == 2


def test_a_time_without_offset_is_wrong_usage(
    panelwright: Callable[..., Said], examples: Path
) -> None:
    file = str(examples / "heron.toml")
    said = panelwright("plan", file, "--as-of", "2026-11-20T10:00:00")
    assert said.status == 2
    assert "offset" in said.err


def without(text: str, table: str) -> str:
    """The file without one kind of table."""
    kept, dropping = [], False
    for line in text.splitlines():
        if line.startswith("["):
            dropping = line.startswith((f"[[{table}]]", f"[[{table}.", f"[{table}]"))
        if not dropping:
            kept.append(line)
    return "\n".join(kept)


def test_without_adhesive_the_bond_alone_is_not_answered(panelwright: Callable[..., Said]) -> None:
    text = without(HERON, "adhesive")
    text = "\n".join(
        line for line in text.splitlines() if "adhesive =" not in line or "old" in line
    )
    bond = panelwright("bond", "-", stdin=text)
    assert bond.status in {1, 2}
    assert "adhesive" in bond.err
    for command in ("teardown", "fit", "quiet"):
        assert panelwright(command, "-", stdin=text).status == 0, command


def test_a_joint_without_thickness_says_so_and_the_others_are_answered(
    panelwright: Callable[..., Said],
) -> None:
    lines = HERON.splitlines()
    first = next(n for n, line in enumerate(lines) if line.startswith("thickness ="))
    text = "\n".join([*lines[:first], *lines[first + 1 :]])
    said = panelwright("joints", "-", stdin=text)
    assert said.status == 0
    assert "thickness" in said.out


def test_a_reading_of_zero_is_left_out_and_said(panelwright: Callable[..., Said]) -> None:
    extra = '\n[[reading]]\nfrom = "R1"\nto = "L1"\nvalue = 0\n'
    names = [line.split('"')[1] for line in HERON.splitlines() if line.startswith("id =")]
    points = [name for name in names if f'id = "{name}"' in HERON.split("[[point]]", 1)[1]][:2]
    text = HERON + extra.replace("R1", points[0]).replace("L1", points[1])
    said = panelwright("fit", "-", stdin=text)
    assert said.status == 0
    assert "more than zero" in said.out


def test_a_part_with_two_points_only_is_answered_with_what_is_not_seen(
    panelwright: Callable[..., Said],
) -> None:
    text = """
    [[part]]
    id = "skin"
    state = "replace"
    [[point]]
    id = "A"
    on = "skin"
    home = "xyz"
    xyz = [0, 0, 0]
    u = 1
    tolerance = "3 mm"
    [[point]]
    id = "B"
    on = "skin"
    home = "xyz"
    xyz = [1000, 0, 0]
    u = 1
    tolerance = "3 mm"
    [[reading]]
    point = "A"
    xyz = [1, 0, 0]
    u = 0.5
    [[reading]]
    point = "B"
    xyz = [1001, 0, 0]
    u = 0.5
    """
    said = panelwright("fit", "-", "--json", stdin=text)
    assert said.status == 0, said.out + said.err
    unseen = json.loads(said.out)["parts"]["skin"]["unseen"]
    assert any(motion["u_mm"] is None for motion in unseen)


LINES = HERON.splitlines()
SCRAPS = st.sampled_from(
    [
        "",
        "x",
        "0",
        "-1",
        "1e999",
        "nan",
        '"12"',
        '"-5 mm"',
        '"1e9 mm"',
        "[]",
        "[[]]",
        "{}",
        "true",
        '"2026-13-40"',
        '"\\u0000"',
        '"' + "a" * 300 + '"',
        "[0, 0, 0]",
        '"0 mm"',
    ]
)


@st.composite
def spoiled(draw: st.DrawFn) -> str:
    """The Heron with a few lines dropped, doubled, or given another value."""
    lines = list(LINES)
    for _ in range(draw(st.integers(1, 4))):
        number = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["drop", "double", "value", "move"])):
            case "drop":
                del lines[number]
            case "double":
                lines.insert(number, lines[number])
            case "move":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(number))
            case _:
                key, sign, _ = lines[number].partition("=")
                if sign:
                    lines[number] = f"{key}= {draw(SCRAPS)}"
    return "\n".join(lines)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(text=spoiled(), command=st.sampled_from([*ROOMS, "overview"]))
def test_no_spoiled_file_ends_in_a_traceback(
    panelwright: Callable[..., Said], text: str, command: str
) -> None:
    said = panelwright(command, "-", stdin=text)
    assert said.status in {0, 1, 2}
    assert said.out or said.err
