"""Adjusters: exact settings, closed forms, all steps tried, limits, bad input."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation
from tests.fit.adjusting import (
    HELD,
    SEATS,
    all_steps,
    ask,
    home_of,
    poses_on_seats,
    seat,
    seated,
    worst_of,
)
from tests.fit.build import PANEL, off_of, panel

from panelwright.errors import InvalidFile
from panelwright.facts.check import check
from panelwright.facts.file import document_from
from panelwright.fit.adjuster_answer import AdjusterSetting, LimitKind, Reach
from panelwright.fit.answer import Answer
from panelwright.fit.part_answer import Verdict

SHIFT, TURN = (4.0, -3.0, -2.5), (1.0, 2.0, -1.5)


def changes(found: Answer) -> dict[str, float]:
    settings = [setting for part in found.parts for setting in part.settings]
    return {setting.id or setting.name: setting.by_mm for setting in settings}


def one_reach(found: Answer) -> Reach:
    (reach,) = found.reach
    return reach


def setting_of(found: Answer, name: str) -> AdjusterSetting:
    return next(s for part in found.parts for s in part.settings if s.id == name)


@pytest.mark.exact
def test_adjusters_that_can_undo_a_misplacement_undo_it() -> None:
    """Six slots fix the six motions: each must go as far as its place is from home."""
    found = ask(seated(SHIFT, TURN, [seat(name) for name in SEATS]))
    for name, (xyz, along) in SEATS.items():
        expected = home_of(SHIFT, TURN, np.array(xyz)) @ np.array(along)
        assert changes(found)[name] == pytest.approx(expected, abs=2e-3)
    assert one_reach(found).worst_ratio < 2e-3
    assert one_reach(found).inside
    assert one_reach(found).limited_by == ()


@pytest.mark.exact
def test_a_large_turn_is_undone_as_exactly_as_a_small_one() -> None:
    found = ask(
        seated((15.0, -12.0, 9.0), (12.0, 20.0, -15.0), [seat(name, (-80, 80)) for name in SEATS])
    )
    assert one_reach(found).worst_ratio < 5e-3


@pytest.mark.exact
@pytest.mark.parametrize("tolerances", [(1.0, 1.0), (1.0, 2.0), (0.5, 2.0)])
def test_one_slot_between_two_gaps_balances_them(tolerances: tuple[float, float]) -> None:
    """e₁ + b and e₂ + b: b = −(e₁/T₁ + e₂/T₂)/(1/T₁ + 1/T₂), ratio |e₁ − e₂|/(T₁ + T₂)."""
    shift, turn = (2.0, 0.0, 0.0), (0.0, 3.0, 0.0)
    tables = seated(shift, turn, [seat("x1")], tolerance=50)
    tables["station"] = tables["station"][:2]
    tables["reading"] = tables["reading"] + _spans(shift, turn)
    tables["reading"] = [r for r in tables["reading"] if r.get("station") not in {"s3", "s4"}]
    for station, tolerance in zip(tables["station"], tolerances, strict=True):
        station["gap"]["tolerance"] = tolerance
        del station["flush"], station["flush_towards"]
    for reading in tables["reading"]:
        reading.pop("flush", None)
    found = ask(tables)
    e1, e2 = (s.gap_mm - 5.0 for s in found.parts[0].stations if s.gap_mm is not None)
    t1, t2 = tolerances
    assert changes(found)["x1"] == pytest.approx(-(e1 / t1 + e2 / t2) / (1 / t1 + 1 / t2), abs=5e-3)
    reach = one_reach(found)
    assert reach.worst_ratio == pytest.approx(abs(e1 - e2) / (t1 + t2), abs=5e-3)
    gaps = [place for place in reach.expected if place.kind == "gap"]
    assert gaps[0].ratio == pytest.approx(gaps[1].ratio, abs=5e-3)
    assert gaps[0].off_mm * gaps[1].off_mm < 0.0


def _spans(
    shift: tuple[float, float, float], turn: tuple[float, float, float]
) -> list[dict[str, Any]]:
    return panel(
        shift,
        turn,
        stations=(),
        spans=tuple((a, b) for a in PANEL for b in ("B1", "B2", "B3", "B4", "B5", "B6")),
    )["reading"]


STEPS: dict[str, tuple[float, tuple[float, float]]] = {
    "y1": (1.5, (-3.0, 3.0)),
    "y2": (1.0, (-2.0, 3.0)),
    "y3": (1.5, (-3.0, 4.5)),
    "z1": (1.0, (-2.0, 4.0)),
    "z2": (2.0, (-4.0, 4.0)),
    "x1": (1.5, (-4.5, 3.0)),
}


@pytest.mark.second_route
@pytest.mark.parametrize(
    ("shift", "turn"),
    [(SHIFT, TURN), ((-2.2, 3.1, 1.6), (-1.2, 0.8, 1.1)), ((6.0, 0.4, -5.0), (2.0, -3.0, 0.5))],
)
def test_the_best_shims_are_the_best_of_all_that_can_be_set(
    shift: tuple[float, float, float], turn: tuple[float, float, float]
) -> None:
    """Every combination of shims is set, its pose solved for exactly, its worst place taken."""
    adjusters = [seat(name, reach, step=step) for name, (step, reach) in STEPS.items()]
    found = ask(seated(shift, turn, adjusters))
    tried = all_steps(STEPS)
    assert len(tried) > 10_000
    worst = worst_of(shift, turn, *poses_on_seats(tried))
    assert one_reach(found).worst_ratio <= worst.min() + 0.01  # a hundredth may spare an adjuster
    own = np.array([[changes(found)[name] for name in SEATS]])
    assert np.any(np.all(np.isclose(tried, own), axis=1))
    own_worst = worst_of(shift, turn, *poses_on_seats(own))[0]
    assert one_reach(found).worst_ratio == pytest.approx(own_worst, abs=2e-3)


@pytest.mark.second_route
def test_rounding_the_best_slots_to_shims_is_worse_than_the_best_shims() -> None:
    shift, turn = (0.2, 1.9, -2.2), (1.8, 2.6, 0.6)
    steps = dict.fromkeys(("y1", "y2", "y3", "z1", "z2"), (2.0, (-6.0, 6.0)))
    adjusters = [seat(name, reach, step=step) for name, (step, reach) in steps.items()]
    tables = seated(shift, turn, adjusters)
    free = [{k: v for k, v in adjuster.items() if k != "step"} for adjuster in adjusters]
    smooth = changes(ask(seated(shift, turn, free)))
    rounded = np.array([[2.0 * round(smooth[name] / 2.0) for name in SEATS]])
    naive = worst_of(shift, turn, *poses_on_seats(rounded))[0]
    best = worst_of(shift, turn, *poses_on_seats(all_steps(steps))).min()
    found = one_reach(ask(tables)).worst_ratio
    assert best - 0.005 <= found <= best + 0.01  # hinges are given a hair of play
    assert naive > best + 0.1


@pytest.mark.second_route
def test_slots_reach_the_optimum_of_a_linear_program_of_the_other_form() -> None:
    """The same minimax with the six changes as unknowns, by scipy's linprog; axis tolerances."""
    shift, turn = (5.0, 0.4, -4.0), (0.2, -1.0, 0.3)
    ranges = {"y1": (-1.0, 1.0), "z1": (-2.0, 2.0), "x1": (-2.5, 1.0)}
    tolerance = {"x": 2, "y": 1, "z": 2}
    tables = seated(shift, turn, [seat(n, r) for n, r in ranges.items()], tolerance=tolerance)
    tables["station"], tables["contact"] = [], []
    tables["reading"] = [{**reading, "u": 0.05} for reading in _spans(shift, turn)]
    found = one_reach(ask(tables))
    limits, by = np.array([2.0, 1.0, 2.0]), np.zeros(6)
    for _ in range(4):
        rotation, moved = poses_on_seats(by + np.concatenate([np.zeros((1, 6)), 0.01 * np.eye(6)]))
        rows, right = [], []
        for home in PANEL.values():
            now = np.array(home) + off_of(np.array(shift), 1e-3 * np.array(turn), home)
            at = rotation.apply(np.tile(now, (7, 1))) + moved
            slope = (at[1:] - at[0]).T / 0.01
            off = at[0] - np.array(home) - slope @ by
            for sign in (1.0, -1.0):
                rows.append(np.column_stack([sign * slope, -limits]))
                right.append(-sign * off)
        solved = linprog(
            [0.0] * 6 + [1.0],
            A_ub=np.concatenate(rows),
            b_ub=np.concatenate(right),
            bounds=[*(ranges.get(name, HELD) for name in SEATS), (0, None)],
        )
        by = np.asarray(solved.x)[:6]
    best = float(np.asarray(solved.x)[-1])
    assert best - 1e-3 <= found.worst_ratio <= best + 0.011  # one may be spared
    assert found.ratio_now > best + 0.5
    assert found.worst_ratio > 0.5


@pytest.mark.exact
def test_out_of_reach_says_how_good_it_can_get_and_by_how_much_range() -> None:
    """6 mm back with 2 mm of slot: 4 mm stay, of 3 mm allowed; 1 mm more would do."""
    tables = seated((6.0, 0.0, 0.0), (0.0, 0.0, 0.0), [seat("x1", (-2.0, 2.0))])
    for station in tables["station"]:
        station["gap"]["tolerance"] = 3
    found = ask(tables)
    reach = one_reach(found)
    assert reach.worst_ratio == pytest.approx(4.0 / 3.0, abs=1e-3)
    assert not reach.inside
    assert setting_of(found, "x1").at_end
    (limit,) = reach.limited_by
    assert limit.kind is LimitKind.RANGE
    assert limit.adjuster == "x1"
    assert limit.more_mm == pytest.approx(-1.0, abs=0.02)
    assert "out of reach" in reach.words
    assert "x1 is at its end: it would take 1.0 mm more" in reach.words


@pytest.mark.exact
def test_shims_that_are_too_coarse_are_what_limits() -> None:
    """2 mm off with shims of 4 mm: whatever is done, 2 mm stay, of 1 mm allowed."""
    found = ask(seated((2.0, 0.0, 0.0), (0.0, 0.0, 0.0), [seat("x1", (-8, 8), step=4)]))
    reach = one_reach(found)
    assert reach.worst_ratio == pytest.approx(2.0, abs=0.01)
    assert [limit.kind for limit in reach.limited_by] == [LimitKind.STEP]
    assert changes(found)["x1"] == 0.0  # as good as 4 mm, and nothing to do


@pytest.mark.exact
def test_what_nothing_adjusts_is_what_limits() -> None:
    found = ask(seated((0.0, 0.0, 5.0), (0.0, 0.0, 0.0), [seat("x1")]))
    reach = one_reach(found)
    assert reach.worst_ratio == pytest.approx(5.0, abs=0.01)  # gaps at the top, tolerance 1 mm
    assert [limit.kind for limit in reach.limited_by] == [LimitKind.HINGE]


@pytest.mark.exact
def test_a_flange_limits_what_slides_past_it_unless_it_goes_with_the_adjuster() -> None:
    """Two gaps 1.4 mm apart balance at 0.7 mm; a flange that may be pressed by 0.3 mm leaves
    −0.3 and 1.1 mm."""
    shift, turn = (2.0, 0.0, 0.0), (0.0, 2.0, 0.0)
    tables = seated(shift, turn, [seat("x1")], tolerance=50)
    tables["station"] = [
        {k: v for k, v in station.items() if not k.startswith("flush")}
        for station in tables["station"][:2]
    ]
    tables["reading"] = [
        *({"station": r["station"], "gap": r["gap"]} for r in tables["reading"][:2]),
        *_spans(shift, turn),
    ]
    tables["contact"] = [
        {"id": "f", "part": "outer", "xyz": [2580, -850, 700], "normal": [1, 0, 0]}
    ]
    reach = one_reach(ask(tables))
    assert sorted(p.off_mm for p in reach.expected if p.kind == "gap") == pytest.approx(
        [-0.3, 1.1], abs=0.01
    )
    assert [limit.kind for limit in reach.limited_by] == [LimitKind.FLANGE]
    assert "f would have to give way" in reach.words
    tables["adjuster"][0]["frees"] = ["f"]
    freed = one_reach(ask(tables))
    assert freed.worst_ratio == pytest.approx(0.7, abs=0.01)
    assert freed.inside


@pytest.mark.exact
def test_an_adjuster_that_can_be_spared_is_spared() -> None:
    """What cannot be mended is 0.67 of its tolerance off; 0.1 of one elsewhere changes nothing."""
    tables = seated((0.3, 0.0, 2.0), (0.0, 0.0, 0.0), [seat("x1")])
    for station in tables["station"]:
        station["gap"]["tolerance"] = 3
        station["flush"]["tolerance"] = 3
    tables["point"] = [{**p, "tolerance": 3} if "tolerance" in p else p for p in tables["point"]]
    tables["shop"] = {"confidence": 0.99999}  # so that something is left to bring inside
    for reading in tables["reading"]:
        reading["u"] = 0.28
    found = ask(tables)
    assert found.reach
    assert changes(found)["x1"] == 0.0


@pytest.mark.exact
def test_a_change_that_the_readings_do_not_show_is_not_asked_for() -> None:
    def asked(u: float) -> float:
        tables = seated((0.6, 0.0, 4.0), (0.0, 0.0, 0.0), [seat("x1"), seat("z1"), seat("z2")])
        for reading in tables["reading"]:
            reading["u"] = u
        return changes(ask(tables))["x1"]

    assert asked(0.1) == pytest.approx(-0.6, abs=0.02)
    assert asked(2.0) == 0.0


@pytest.mark.exact
def test_more_shims_than_motions_settle_by_least_squares() -> None:
    """Four across on one plane: two packs of 1 mm at opposite corners lift all by ½ mm."""
    corners = {"q1": (2600, 500), "q2": (4100, 500), "q3": (4100, 1500), "q4": (2600, 1500)}
    shims = [
        {
            "id": name,
            "part": "outer",
            "xyz": [x, -830, z],
            "along": [0, 1, 0],
            "range": [-4, 4],
            "step": 1,
        }
        for name, (x, z) in corners.items()
    ]
    held = [seat(name, HELD) for name in ("z1", "z2", "x1")]
    tables = {**panel((0.0, -3.0, 0.0)), "adjuster": [*shims, *held]}
    found = ask(tables)
    assert changes(found) | {"z1": 0, "z2": 0, "x1": 0} == dict.fromkeys(corners, 3.0) | {
        "z1": 0.0,
        "z2": 0.0,
        "x1": 0.0,
    }
    tables = {**panel((0.0, -2.5, 0.0)), "adjuster": [*shims, *held]}
    found = ask(tables)
    assert sum(changes(found)[name] for name in corners) == pytest.approx(10.0)
    assert one_reach(found).worst_ratio < 0.1


def door(shift: tuple[float, float, float], tolerance: float = 3.0) -> dict[str, Any]:
    """A door beside the panel, read exactly, that only a slot fore and aft moves."""
    homes = {
        "D1": (2400.0, -850.0, 500.0),
        "D2": (1500.0, -850.0, 600.0),
        "D3": (2300.0, -820.0, 1500.0),
    }
    reading = [
        {"point": name, "xyz": (np.array(home) + shift).tolist(), "u": 0.05}
        for name, home in homes.items()
    ]
    point = [
        {"id": n, "on": "door", "xyz": list(h), "u": 0.01, "home": "xyz", "tolerance": tolerance}
        for n, h in homes.items()
    ]
    held = [
        {"part": "door", "xyz": list(xyz), "along": along, "range": [0, 0], "name": f"door {k}"}
        for k, (xyz, along) in enumerate(
            [
                (homes["D1"], [0, 1, 0]),
                (homes["D2"], [0, 1, 0]),
                (homes["D3"], [0, 1, 0]),
                (homes["D1"], [0, 0, 1]),
                (homes["D2"], [0, 0, 1]),
            ]
        )
    ]
    return {"reading": reading, "point": point, "adjuster": held}


@pytest.mark.exact
def test_a_gap_between_two_parts_is_shared_by_their_adjusters() -> None:
    """The panel stays 4 mm back; the door follows by s: gap (4 − s)/1 = door s/3, so s = 3."""
    tables = seated((6.0, 0.0, 0.0), (0.0, 0.0, 0.0), [seat("x1", (-2.0, 2.0))], tolerance=6)
    other = door((0.0, 0.0, 0.0))
    slot = {
        "id": "dx",
        "part": "door",
        "xyz": [2400, -850, 900],
        "along": [1, 0, 0],
        "range": [-9, 9],
    }
    tables["part"].append({"id": "door", "state": "remove-and-refit"})
    tables["point"] += other["point"]
    tables["reading"] += other["reading"]
    tables["adjuster"] += [slot, *other["adjuster"]]
    for station in tables["station"]:
        if station["id"] in {"s1", "s2"}:
            station["beside"] = "door"
        station["gap"]["tolerance"] = 1 if station["id"] in {"s1", "s2"} else 9
    found = ask(tables)
    reach = one_reach(found)
    assert set(reach.parts) == {"outer", "door"}
    assert reach.worst_ratio == pytest.approx(1.0, abs=0.01)
    assert changes(found)["dx"] == pytest.approx(3.0, abs=0.03)
    assert changes(found)["x1"] == pytest.approx(-2.0, abs=1e-6)


@pytest.mark.exact
def test_hinges_hold_what_they_are_not_adjusted_in() -> None:
    """Two hinges adjusted in all three ways, and the swing free: a door goes home; its two
    hinges, above one another, can only go up together."""
    tables = panel((2.0, 1.0, -3.0), (1.0, 2.0, 1.5))
    tables["adjuster"] = [
        {
            "id": f"{where}-{axis}",
            "kind": "hinge",
            "part": "outer",
            "xyz": [2600, -840, z],
            "along": along,
            "range": [-15, 15],
        }
        for where, z in (("low", 600), ("high", 1300))
        for axis, along in (("x", [1, 0, 0]), ("y", [0, 1, 0]), ("z", [0, 0, 1]))
    ]
    found = ask(tables)
    assert one_reach(found).worst_ratio < 5e-3
    by = changes(found)
    assert by["low-z"] == pytest.approx(by["high-z"], abs=0.01)
    # Without the adjustment in height the hinges keep it down.
    tables |= {k: v for k, v in panel((2.0, 1.0, -9.0), (1.0, 2.0, 1.5)).items() if k == "reading"}
    tables["adjuster"] = [a for a in tables["adjuster"] if not a["id"].endswith("-z")]
    reach = one_reach(ask(tables))
    assert reach.worst_ratio > 2.0
    assert reach.limited_by[0].kind is LimitKind.HINGE


@pytest.mark.second_route
def test_what_is_expected_is_what_the_next_dry_fit_finds() -> None:
    """The panel is set as told, read again exactly, and fitted anew."""
    shift, turn = (3.0, 1.9, -2.2), (1.8, 2.6, 0.6)
    adjusters = [seat(name, (-8, 8), step=2) for name in SEATS]
    reach = one_reach(found := ask(seated(shift, turn, adjusters)))
    own = np.array([[changes(found)[name] for name in SEATS]])
    rotation, moved = poses_on_seats(own)
    c = np.mean(list(PANEL.values()), axis=0)
    whole = rotation[0] * Rotation.from_rotvec(1e-3 * np.array(turn))
    after = rotation[0].apply(c + np.array(shift)) + moved[0] - c
    again = ask(panel(tuple(after), tuple(1e3 * whole.as_rotvec()))).parts[0]
    places = {point.id: float(np.linalg.norm(point.off_mm)) for point in again.points}
    gaps = {station.id: station.gap_mm for station in again.stations}
    for place in reach.expected:
        if place.kind == "point":
            assert place.off_mm == pytest.approx(places[place.id], abs=0.02)
            p = next(point.p_inside for point in again.points if point.id == place.id)
            assert place.p_inside == pytest.approx(p, abs=0.01)
        if place.kind == "gap":
            assert 5.0 + place.off_mm == pytest.approx(gaps[place.id], abs=0.02)


def test_a_part_that_is_inside_is_left_alone() -> None:
    found = ask(seated((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), [seat(name) for name in SEATS]))
    assert found.parts[0].verdict is Verdict.INSIDE
    assert found.reach == ()
    assert found.parts[0].settings == ()


@pytest.mark.exact
def test_present_settings_count_and_shims_stay_whole() -> None:
    """Standing at 2 mm of 3, it can go 1 mm up or 5 down."""
    found = ask(seated((-4.0, 0.0, 0.0), (0.0, 0.0, 0.0), [seat("x1", (-3, 3), at=2, step=0.75)]))
    setting = setting_of(found, "x1")
    assert (setting.from_mm, setting.by_mm, setting.to_mm) == (2.0, 0.75, 2.75)
    assert setting.steps == 1
    assert setting.at_end
    assert setting.words == "x1: add 1 of 0.8 mm, so that it goes 0.8 mm rearward"


@pytest.mark.exact
def test_the_next_dry_fit_goes_on_from_where_the_adjusters_were_set() -> None:
    """Set to 2 mm of 3 in dry fit 2: 1 mm is left, of the 4 mm that are needed."""
    tables = seated((-4.0, 0.0, 0.0), (0.0, 0.0, 0.0), [seat("x1", (-3, 3))])
    tables["reading"] = [{**reading, "setting": 2} for reading in tables["reading"]]
    moved = {"kind": "moved", "part": "outer", "setting": 2}
    untold = setting_of(ask({**tables, "event": [moved]}), "x1")
    assert untold.to_mm == pytest.approx(3.0, abs=1e-6)
    assert "is not given (at): taken as 0 mm" in untold.note
    told = [{**moved, "adjusted": [{"adjuster": "x1", "to": 2}]}]
    found = setting_of(ask({**tables, "event": told}), "x1")
    assert (found.from_mm, found.note) == (2.0, "")
    assert found.by_mm == pytest.approx(1.0, abs=1e-6)
    document = document_from(
        {
            "repair": {"name": "test"},
            **tables,
            "event": [{**moved, "adjusted": [{"adjuster": "x9", "to": 2}]}],
        }
    )
    assert "'x9' is no adjuster of 'outer'" in "\n".join(p.what for p in check(document))


@pytest.mark.parametrize(
    ("adjuster", "words"),
    [
        (seat("x1", (3, -3)), "write the smaller first"),
        (seat("x1", (-1, 1), step=5), "does not fit its range"),
        (seat("x1", (-1, 1), at=2), "outside its range"),
        (seat("x1") | {"part": "hood"}, "is not fitted yet"),
    ],
)
def test_adjusters_that_cannot_be_set_are_told(adjuster: dict[str, Any], words: str) -> None:
    tables = seated(SHIFT, TURN, [adjuster])
    tables["part"].append({"id": "hood"})
    found = ask(tables)
    assert words in "\n".join(problem.what for problem in found.problems)
    assert found.reach


def test_two_adjusters_in_one_place_and_direction_are_told() -> None:
    twice = seat("x1") | {"id": "x2", "along": [-1, 0, 0]}
    found = ask(seated(SHIFT, TURN, [seat("x1"), twice]))
    assert "same place and direction as adjuster[0]" in "\n".join(p.what for p in found.problems)
    assert "x2" not in changes(found)


def test_a_direction_of_nought_is_refused() -> None:
    with pytest.raises(InvalidFile, match="has no direction"):
        ask(seated(SHIFT, TURN, [seat("x1") | {"along": [0, 0, 0]}]))


def test_names_that_are_not_there_are_told_by_the_check() -> None:
    tables = seated(SHIFT, TURN, [seat("x1", frees=["nowhere"], against="moon")])
    document = document_from({"repair": {"name": "test"}, **tables})
    said = "\n".join(problem.what for problem in check(document))
    assert "'nowhere' is no contact or locator" in said
    assert "'moon'" in said
