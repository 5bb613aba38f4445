"""Spreads of hand tools, and the limits of tapes."""

from __future__ import annotations

import pytest
from tests.fit.build import repair

from panelwright.fit.tools import built_in, instruments, spread_of, tape_limit_mm, tape_u_mm


@pytest.mark.published
@pytest.mark.parametrize(
    ("tape_class", "limits_mm"),
    [
        ("I", (0.2, 0.3, 0.4, 0.6)),
        ("II", (0.5, 0.7, 0.9, 1.3)),
        ("III", (1.0, 1.4, 1.8, 2.6)),
    ],
)
def test_tape_limits_of_directive_2014_32_eu(tape_class: str, limits_mm: tuple[float, ...]) -> None:
    """Annex X (MI-008): ± (a + b L), at 1, 2, 3 and 5 m (a, b seen; sums computed by hand)."""
    for length_mm, limit_mm in zip((1000.0, 2000.0, 3000.0, 5000.0), limits_mm, strict=True):
        assert tape_limit_mm(length_mm, tape_class) == pytest.approx(limit_mm, abs=1e-9)


@pytest.mark.published
def test_a_hook_adds_its_own_limit_and_length_is_rounded_up() -> None:
    """1.5 m from the hook, class II: 0.3 + 0.2·2 + 0.2 = 0.9 mm."""
    assert tape_limit_mm(1500.0, "II", hooked_ends=1) == pytest.approx(0.9)


@pytest.mark.published
@pytest.mark.parametrize(("tape_class", "u_mm"), [("I", 0.173), ("II", 0.404)])
def test_a_limit_is_a_rectangular_distribution(tape_class: str, u_mm: float) -> None:
    """JCGM 100:2008, 4.3.7: u = limit/√3; class I and II at 2 m."""
    assert tape_u_mm(2000.0, tape_class) == pytest.approx(u_mm, abs=5e-4)


def test_the_built_in_tools_are_the_agreed_ones() -> None:
    """Common practice, no source."""
    found = {id_: (t.u_mm, t.offset_u_mm, t.scale_u) for id_, t in built_in().items()}
    assert found == {
        "tape": (1.0, 0.0, 0.0002),
        "tram": (0.5, 0.0, 0.0001),
        "caliper": (0.1, 0.0, 0.0),
        "gauge": (0.2, 0.0, 0.0),
        "level": (2.0, 0.0, 0.0),
        "photo": (1.0, 0.0, 0.0),
    }


def test_a_declared_tool_replaces_the_built_in_one() -> None:
    tools = instruments(repair(tool=[{"id": "tape", "u": 0.7, "offset_u": 0.3}]))
    assert (tools["tape"].u_mm, tools["tape"].offset_u_mm, tools["tape"].scale_u) == (0.7, 0.3, 0.0)
    assert tools["tram"].u_mm == 0.5


@pytest.mark.parametrize(
    ("keys", "u_mm", "tool"),
    [
        ({}, 1.0, "tape"),
        ({"with": "tram"}, 0.5, "tram"),
        ({"u": 0.3}, 0.3, None),
        ({"with": "tram", "u": 0.3}, 0.3, "tram"),
        ({"u": 0}, 0.001, None),
    ],
    ids=["nothing said", "a tool", "a u", "both", "a u of nought"],
)
def test_what_a_reading_says_of_its_spread(
    keys: dict[str, object], u_mm: float, tool: str | None
) -> None:
    whole = repair(
        point=[{"id": "A"}, {"id": "B"}], reading=[{"from": "A", "to": "B", "value": 100, **keys}]
    )
    spread = spread_of(whole.readings[0], instruments(whole), "tape")
    assert spread.u_mm == u_mm
    assert (spread.tool.id if spread.tool else None) == tool
