"""Every command answers on every example, as a page and with the keys that others rely on."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Said

EXAMPLES = ("heron", "heron-found", "heron-moved", "box-side-inches")

KEYS = {
    "teardown": {"open", "order", "look"},
    "joints": {"joints"},
    "fit": {
        "points",
        "parts",
        "readings",
        "next",
        "variance_factor",
        "dof",
        "global_test",
        "datum",
    },
    "bond": {"joints", "advice"},
    "quiet": {"parts", "sheets", "placements"},
    "plan": {"steps", "kit", "ready_for_paint", "critical", "status", "gap"},
}
JOINT_KEYS = {
    "rivet",
    "count",
    "at_mm",
    "edge_mm",
    "pitch_mm",
    "adhesive_ml",
    "strength",
    "checks",
    "from",
}
BOND_KEYS = {
    "work_until_min",
    "handle_min",
    "full_min",
    "coldest_mm",
    "hottest_C",
    "hottest_at_min",
    "over_limit",
    "curve",
}
PART_KEYS = {
    "setting",
    "shift_mm",
    "turn_mrad",
    "covariance",
    "points",
    "stations",
    "unseen",
    "moves",
}
READING_KEYS = {"index", "component", "residual_mm", "w", "redundancy", "suspect"}
NEXT_KEYS = {"from", "to", "point", "station", "contact", "gain"}
STEP_KEYS = {"id", "repair", "by", "start", "end", "waits_for", "cautions"}


@pytest.fixture(scope="module")
def answers(
    panelwright: Callable[..., Said], examples: Path
) -> Callable[[str, str], dict[str, object]]:
    known: dict[tuple[str, str], dict[str, object]] = {}

    def answer(command: str, name: str) -> dict[str, object]:
        if (command, name) not in known:
            said = panelwright(command, str(examples / f"{name}.toml"), "--json")
            assert said.status == 0, said.out + said.err
            known[command, name] = json.loads(said.out)
        return known[command, name]

    return answer


ASKED = [
    (command, name)
    for command in KEYS
    for name in EXAMPLES
    if (command, name) != ("quiet", "box-side-inches")  # it has no pads
]


@pytest.mark.parametrize(("command", "name"), ASKED)
def test_json_has_the_keys_of_the_repair_file_page(
    answers: Callable[[str, str], dict[str, object]], command: str, name: str
) -> None:
    assert KEYS[command] <= set(answers(command, name))


PAGES = [
    *((command, name, "mm") for command, name in ASKED),
    *((command, "heron", "in") for command in KEYS),
    ("check", "heron", "mm"),
    ("overview", "heron-moved", "in"),
    ("overview", "box-side-inches", "mm"),
]


@pytest.mark.parametrize(("command", "name", "units"), PAGES)
def test_a_page_is_readable_text(
    panelwright: Callable[..., Said], examples: Path, command: str, name: str, units: str
) -> None:
    options = [] if command == "check" else ["--units", units]
    said = panelwright(command, str(examples / f"{name}.toml"), *options)
    assert said.status == 0, said.out + said.err
    assert max(len(line) for line in said.out.splitlines()) <= 100
    assert not re.search(r"\bNone\b(?! of)", said.out)
    assert "nan" not in said.out.split()
    assert "Traceback" not in said.out


def test_every_joint_has_its_keys(answers: Callable[[str, str], dict[str, object]]) -> None:
    joints = answers("joints", "heron")["joints"]
    assert isinstance(joints, dict)
    assert joints
    for joint in joints.values():
        assert set(joint) >= JOINT_KEYS
        assert set(joint["strength"]) >= {"old_kN", "new_kN", "ratio"}
        assert set(joint["pitch_mm"]) >= {"min", "max"}
        assert joint["from"] in {"procedure", "proposal", "ask-the-maker"}
        for check in joint["checks"]:
            assert set(check) >= {"what", "value", "limit", "ok", "source"}


def test_every_bonded_joint_has_its_keys(answers: Callable[[str, str], dict[str, object]]) -> None:
    joints = answers("bond", "heron")["joints"]
    assert isinstance(joints, dict)
    assert joints
    for name, joint in joints.items():
        assert set(joint) >= BOND_KEYS
        if name == "roof-rail":  # structural, and the procedure names no adhesive
            assert joint["handle_min"] is None
            continue
        assert set(joint["handle_min"]) >= {"early", "likely", "late"}
        assert set(joint["curve"][0]) >= {"minute", "coldest_C", "hottest_C", "strength_MPa"}


def test_the_fit_has_its_keys(answers: Callable[[str, str], dict[str, object]]) -> None:
    fit = answers("fit", "heron")
    parts, readings, points = fit["parts"], fit["readings"], fit["points"]
    assert isinstance(parts, dict)
    assert isinstance(readings, list)
    assert isinstance(points, dict)
    assert set(parts["outer"]) >= PART_KEYS
    assert len(parts["outer"]["covariance"]) == 6
    for point in parts["outer"]["points"].values():
        assert set(point) >= {"off_mm", "u_mm", "shape_mm", "p_inside", "p_best", "verdict"}
    for station in parts["outer"]["stations"].values():
        assert set(station) >= {"gap_mm", "flush_mm", "u_mm", "p_inside", "verdict"}
    assert all(set(row) >= READING_KEYS for row in readings)
    assert all(set(point) >= {"xyz_mm", "u_mm"} for point in points.values())
    assert isinstance(fit["next"], list)
    assert all(set(row) >= NEXT_KEYS for row in fit["next"])
    test = fit["global_test"]
    assert isinstance(test, dict)
    assert set(test) >= {"statistic", "low", "high", "ok"}


def test_the_plan_has_its_keys(answers: Callable[[str, str], dict[str, object]]) -> None:
    plan = answers("plan", "heron")
    steps, kit, ready = plan["steps"], plan["kit"], plan["ready_for_paint"]
    assert isinstance(steps, list)
    assert isinstance(kit, list)
    assert isinstance(ready, dict)
    assert all(set(step) >= STEP_KEYS for step in steps)
    assert all(set(line) >= {"item", "need", "have", "for"} for line in kit)
    assert all(set(times) >= {"p50", "p90"} for times in ready.values())


def test_several_repairs_share_one_plan(panelwright: Callable[..., Said], examples: Path) -> None:
    files = [str(examples / f"{name}.toml") for name in ("heron", "box-side-inches")]
    said = panelwright("plan", *files, "--json")
    assert said.status == 0, said.out + said.err
    assert len(json.loads(said.out)["ready_for_paint"]) == 2


BROKEN = """
[[adjuster]]
name = "stuck one"
part = "outer"
xyz = [4000, -975, 300]
along = [1, 0, 0]
range = ["-25.4 mm", "25.4 mm"]
at = "50.8 mm"
[[reading]]
from = "L5"
to = "R2"
value = "0 mm"
"""


def test_notes_of_a_file_are_in_inches_but_for_what_was_typed(
    panelwright: Callable[..., Said], examples: Path, tmp_path: Path
) -> None:
    path = tmp_path / "broken.toml"
    path.write_text((examples / "heron.toml").read_text(encoding="utf-8") + BROKEN, "utf-8")
    said = panelwright("fit", str(path), "--units", "in")
    assert said.status == 0
    told = " ".join(said.out.split())
    assert "stands at 2.000 in, outside its range of -1.000 in to 1.000 in" in told
    assert "u 0.012 in" in told
    assert re.findall(r"\S+ mm\b", told) == ["'0 mm"]
    assert "u 0.3 mm" in panelwright("fit", str(path)).out


def test_a_starter_file_is_valid_and_is_not_written_over(
    panelwright: Callable[..., Said], tmp_path: Path
) -> None:
    path = str(tmp_path / "van 7.toml")
    assert panelwright("new", path).status == 0
    assert panelwright("check", path).status == 0
    assert 'name = "van-7"' in Path(path).read_text(encoding="utf-8")
    again = panelwright("new", path)
    assert again.status == 2
    assert "there already" in again.err


def test_the_doctor_finds_nothing_missing(panelwright: Callable[..., Said]) -> None:
    said = panelwright("doctor", "--json")
    assert said.status == 0
    assert json.loads(said.out)["missing"] == []


def test_the_schema_is_a_json_schema(panelwright: Callable[..., Said]) -> None:
    said = panelwright("schema")
    assert said.status == 0
    assert json.loads(said.out)["properties"]["reading"]


def test_no_push_rests_on_a_reading_that_is_to_be_read_again(
    panelwright: Callable[..., Said], examples: Path, tmp_path: Path
) -> None:
    wrong = '[[reading]]\nfrom = "L5"\nto = "C1"\nvalue = "4000 mm"\nwith = "tape"\n'
    path = tmp_path / "wrong.toml"
    path.write_text((examples / "heron.toml").read_text("utf-8") + "\n" + wrong, "utf-8")
    told = panelwright("fit", str(path)).out.partition("Is the body")[0]
    assert "Recheck L5 to C1" in told
    assert "do not move or pin it before that is read again" in told
    assert "push" not in told
    assert "→ push" not in panelwright("overview", str(path)).out
