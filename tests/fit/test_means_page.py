"""What the page and the JSON object say of means, repeats, spring and points not held well."""

from __future__ import annotations

import json
from typing import Any

from tests.fit.build import as_repair, repair
from tests.fit.test_networks import WOLF
from tests.fit.test_repeats import spans
from tests.fit.test_spring import sprung
from tests.fit.test_two_places import without_places

from panelwright.cli.pages.fit import page
from panelwright.fit import answer
from panelwright.fit.published import as_json
from panelwright.quantities import Units


def tables() -> dict[str, Any]:
    values = [1800.0 + 0.1 * k for k in (0, 3, -2, 4, 1, -4)]
    found = spans(*values, temperature="45 °C")
    found["point"][0]["hole"] = "10 mm"
    found["reading"].append({"from": "A", "to": "B", "value": 1795, "from_edge": "near"})
    found["point"].append({"id": "C"})
    found["reading"].append({"from": "A", "to": "C", "value": 400})
    return found


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_the_page_says_how_it_was_read() -> None:
    words = squeezed(page(answer(repair(**tables())), Units.MM))
    assert "How it was read" in words
    assert "from the temperature of the metal to 20 °C" in words
    assert "from the edge of a hole to its middle" in words
    assert "A to B, read" in words
    assert "C sits" in words or "C is held weakly" in words
    assert "metal and tool temperature: u 2 K" in words


def test_the_page_shows_inches_where_asked() -> None:
    words = squeezed(page(answer(repair(**tables())), Units.IN))
    block = words.split("How it was read")[1].split("Figures")[0]
    assert " in added" in block
    assert " mm" not in block.split("Left out")[0]


def test_the_page_says_spring_and_two_places() -> None:
    assert "the skin is sprung: twist" in page(
        answer(repair(**sprung(2.1, spring="1.5 mm"))), Units.MM
    )
    words = squeezed(page(answer(without_places(as_repair(WOLF), "P")), Units.MM))
    assert "P fits two places" in words


def test_the_json_object_has_all_of_it() -> None:
    told = json.loads(json.dumps(as_json(answer(repair(**tables())))))
    assert {row["kind"] for row in told["corrections"]} == {"temperature", "edge"}
    assert told["repeats"][0]["indices"] == [0, 1, 2, 3, 4, 5]
    assert told["learnt"] == []  # what was corrected first does not speak of the tool alone
    assert told["weak"][0]["point"] == "C"
    assert told["two_places"] == []
    whole = as_json(answer(repair(**sprung(2.1, spring="1.5 mm"))))
    parts = json.loads(json.dumps(whole))["parts"]
    assert parts["outer"]["spring"][0]["mode"] == "twist"
