"""The body first: racked openings, damaged pairs, no panel move before the structure is true."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from tests.fit.build import panel, repair
from tests.fit.test_room import mirrored_body

from panelwright.cli.pages.fit import page
from panelwright.fit import answer
from panelwright.fit.answer import Answer
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.body_words import opening_words, pair_words
from panelwright.quantities import Units

WIDTH, HEIGHT = 1800.0, 1300.0


def opening(places: dict[str, np.ndarray[Any, Any]], u: float = 0.5) -> dict[str, Any]:
    """Two pairs with every span between them read exactly."""
    return {
        "point": [
            {"id": k, "xyz": v.tolist(), "twin": ("L" if k[0] == "R" else "R") + k[1]}
            for k, v in places.items()
        ],
        "reading": [
            {"from": a, "to": b, "value": float(np.linalg.norm(places[a] - places[b])), "u": u}
            for a, b in combinations(places, 2)
        ],
    }


def rectangle(lean_mm: float, apart: tuple[float, float, float]) -> dict[str, Any]:
    """Pair 1 stands `lean_mm` to the right against pair 2, which lies `apart` from it."""
    first = np.array([3200.0, 0.0, 1900.0])
    second = first + apart
    half = np.array([0.0, WIDTH / 2, 0.0])
    aside = np.array([0.0, lean_mm, 0.0])
    return opening(
        {
            "L1": first - half + aside,
            "R1": first + half + aside,
            "L2": second - half,
            "R2": second + half,
        }
    )


def ask(tables: dict[str, Any]) -> Answer:
    return answer(repair(**tables))


@pytest.mark.exact
@pytest.mark.parametrize("lean", [-12.0, 8.0])
def test_a_sheared_opening_is_told_with_its_lean(lean: float) -> None:
    """Δ = √((b − s)² + h²) − √((b + s)² + h²), and the lean that is said is s again."""
    found = ask(rectangle(lean, (0.0, 0.0, -HEIGHT))).body
    (check,) = found.openings
    one = np.hypot(WIDTH - lean, HEIGHT) - np.hypot(WIDTH + lean, HEIGHT)
    assert check.diagonal_mm == pytest.approx(one, abs=1e-3)
    assert check.lean_mm == pytest.approx(lean, abs=2e-3)
    assert check.racked
    assert found.status is BodyStatus.RACKED
    way = "right" if lean > 0 else "left"
    assert f"its top stands {abs(lean):.2f} ± " in opening_words(check)
    assert f"mm to the {way} against its bottom" in opening_words(check)
    assert opening_words(check) in found.words


@pytest.mark.exact
def test_an_opening_read_by_its_diagonals_has_their_uncertainty() -> None:
    """Both diagonals read once with u 0.5 mm: their difference has √2 · 0.5 mm by themselves."""
    tables = rectangle(0.0, (0.0, 0.0, -HEIGHT))
    (check,) = ask(tables).body.openings
    assert check.diagonal_u_mm == pytest.approx(np.sqrt(2.0) * 0.5, rel=0.02)
    assert not check.racked
    assert ask(tables).body.status is BodyStatus.TRUE


def test_front_and_rear_have_their_names() -> None:
    (check,) = ask(rectangle(9.0, (1500.0, 0.0, 0.0))).body.openings
    assert check.ends == ("front", "rear")
    assert check.lean_mm == pytest.approx(9.0, abs=2e-3)


def test_a_side_that_is_pushed_in_is_told() -> None:
    tables = rectangle(0.0, (1500.0, 0.0, 0.0))
    places = {p["id"]: np.array(p["xyz"]) for p in tables["point"]}
    places["L2"] = places["L2"] - [14.0, 0.0, 0.0]
    (check,) = ask(opening(places)).body.openings
    assert check.side_mm == pytest.approx(-14.0, abs=0.1)
    assert "its left side is 14.0" in opening_words(check)
    assert "shorter" in opening_words(check)


@pytest.mark.parametrize("apart", [15.0, -15.0])
def test_the_pair_that_is_off_is_named_with_its_direction(apart: float) -> None:
    """One of four pairs is off by 15 mm: it, and no other, looks damaged."""
    body = ask(mirrored_body(apart)).body
    damaged = [pair for pair in body.pairs if pair.damaged]
    assert [(pair.point, pair.twin) for pair in damaged] == [("R0", "L0")]
    assert damaged[0].off_mm[0] == pytest.approx(apart, abs=0.5)
    way = "rearward" if apart > 0 else "forward"
    assert f"mm {way}" in pair_words(damaged[0])
    assert pair_words(damaged[0]) in body.words


def test_two_pairs_that_are_off_are_both_named() -> None:
    tables = mirrored_body(20.0)
    places = {p["id"]: np.array(p["xyz"]) for p in tables["point"]}
    places["L3"] = places["L3"] + [0.0, 0.0, 25.0]
    body = ask(opening(places)).body
    assert {pair.point for pair in body.pairs if pair.damaged} == {"R0", "R3"}


def test_a_misread_span_does_not_rack_the_body() -> None:
    tables = mirrored_body(0.0)
    tables["reading"][3]["value"] += 30.0
    found = ask(tables)
    assert [row.index for row in found.readings if row.suspect] == [3]
    assert found.body.status is BodyStatus.TRUE


def hung_on(lean_mm: float) -> Answer:
    """A panel 6 mm off its home on a body with an opening that leans."""
    tables = panel((6.0, 0.0, -4.0))
    frame = rectangle(lean_mm, (0.0, 0.0, -HEIGHT))
    tables["point"] += [{**p, "id": f"F{p['id']}", "twin": f"F{p['twin']}"} for p in frame["point"]]
    tables["reading"] += [
        {**r, "from": f"F{r['from']}", "to": f"F{r['to']}"} for r in frame["reading"]
    ]
    return ask(tables)


def test_on_a_racked_body_no_panel_move_is_told() -> None:
    racked = hung_on(15.0)
    assert racked.body.first
    assert all(part.moves == () for part in racked.parts)
    said = " ".join(page(racked, Units.MM).split())
    assert "leave it where it is: the body comes first" in said
    assert "push the" not in said
    assert hung_on(0.0).parts[0].moves
