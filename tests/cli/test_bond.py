"""The command that says whether closing fits, when it holds, and what may be done now."""

from __future__ import annotations

import json
from collections.abc import Callable

from tests.small import SKIN_ON_INNER, TIMES_AT_23

from .conftest import Said

SMALL = (
    """
[shop]
zone = "Europe/Berlin"
bake = "85 °C"
[conditions]
air = "27 °C"
humidity = 40
"""
    + SKIN_ON_INNER
    + """
[[adhesive]]
id = "G1"
bake_limit = "90 °C"
"""
    + TIMES_AT_23
)
SLOW = '[[step]]\nid = "rivet-skin"\nhours = 0.75\n'
CLOSED = '[[event]]\nkind = "closed"\njoint = "edge"\nat = 2026-11-25T10:00:00+01:00\n'
NOW = ("--as-of", "2026-11-25T10:00:00+01:00")


def test_it_says_whether_closing_fits_and_by_when_to_start(
    panelwright: Callable[..., Said],
) -> None:
    said = panelwright("bond", "-", *NOW, stdin=SMALL)
    assert said.status == 0
    assert "Does it fit in the work time?" in said.out
    assert "skin: fits" in said.out
    assert "the break begins at Wed 2026-11-25 12:00" in " ".join(said.out.split())


def test_without_a_time_of_day_nothing_depends_on_one(panelwright: Callable[..., Said]) -> None:
    said = panelwright("bond", "-", stdin=SMALL + CLOSED)
    assert "at the latest" not in said.out
    assert "What may I do now?" not in said.out


def test_what_helps_is_said_in_the_units_asked_for(panelwright: Callable[..., Said]) -> None:
    said = panelwright("bond", "-", "--units", "in", stdin=SMALL + SLOW)
    words = " ".join(said.out.split())
    assert "Do not start like this" in words
    assert "Cool bay and panel to 64 °F" in words
    assert "23.622 in of bead" in words
    assert "1.1 min for a foot of bead" in words
    assert " m of bead" not in words


def test_json_has_closings_and_what_may_be_done(panelwright: Callable[..., Said]) -> None:
    found = json.loads(panelwright("bond", "-", "--json", *NOW, stdin=SMALL + SLOW).out)
    (closing,) = found["closings"]
    assert closing["fits"] == "does not fit"
    assert {way["help"] for way in closing["ways"]} >= {"more hands", "cool bay and panel"}
    assert closing["minutes_per_rivet"]["runs"] == 0
    assert found["may_do"] == []
    found = json.loads(panelwright("bond", "-", "--json", *NOW, stdin=SMALL + CLOSED).out)
    assert found["closings"] == []
    told = {one["id"]: one for one in found["may_do"]}
    assert told["pins"]["may"] == "not before"
    assert told["pins"]["at"].startswith("2026-11-25T")
    assert "90 °C is the limit once cured" in told["bake"]["why"]


def test_the_page_lists_what_may_be_done(panelwright: Callable[..., Said]) -> None:
    said = panelwright("bond", "-", *NOW, stdin=SMALL + CLOSED)
    assert "What may I do now?" in said.out
    assert "not before Wed 2026-11-25" in said.out
    assert "common practice" in said.out
