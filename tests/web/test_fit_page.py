"""Fit: what to do first, readings taken one by one or from a table, confirmed and withdrawn."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from urllib.parse import parse_qs, quote, urlsplit

import pytest
from starlette.testclient import TestClient

from panelwright.facts.entry import Fact
from panelwright.fit.answer import Answer
from panelwright.quantities import Units
from panelwright.store import Person, place_of
from panelwright.web import Worker
from panelwright.web.desk import Desk
from panelwright.web.fit_list import wanted
from panelwright.web.fit_stages import Stage, stages_of
from panelwright.web.fit_targets import Read, Target, target_of
from panelwright.web.fit_view import view_of
from panelwright.web.fit_ways import Way, way_of
from tests.web.browser import Served, fits, put, started, window
from tests.web.conftest import Watch, key_of

NAME = "heron-114"
FIT = f"/repairs/{NAME}/fit"
ZONE = "/repairs/zone-1/fit"
DIMENSIONS = {"of": "span:L5:R2", "stage": "1", "mode": "one", "with": "tape"}


def said(desk: Desk, kind: str, name: str = NAME) -> list[Fact]:
    return [fact for fact in desk.store.log(name).facts if fact.kind == kind]


def instruction(page: str) -> str:
    found = re.search(r"<h1>(.*?)</h1>", page, re.DOTALL)
    assert found is not None, page
    return unescape(found[1])


def post(client: TestClient, action: str, key: str = "", **fields: str) -> tuple[int, str]:
    """The status, and where it goes or what it shows."""
    key = key or key_of(client.get("/start").text)
    answer = client.post(action, data={"key": key, **fields})
    return answer.status_code, answer.headers.get("location", answer.text)


def read(client: TestClient, of: str, **fields: str) -> tuple[int, str]:
    given = {"of": of, "stage": "1", "mode": "one", **fields}
    return post(client, f"{FIT}/reading", **given)


def last(desk: Desk, name: str = NAME) -> dict[str, object]:
    """The newest reading, without who and when."""
    body = dict(said(desk, "reading", name)[-1].body)
    assert body.pop("by") == "Anna"
    assert str(body.pop("at")).startswith("2026-11-25T13:00")
    return body


@pytest.fixture
def zone(client: TestClient, watch: Watch) -> TestClient:
    """With a repair that starts from a layout of which nothing is confirmed."""
    fields = {"name": "zone-1", "zone": "van-rear-corner", "side": "left", "drive": "battery"}
    assert post(client, "/start", **fields)[0] == 303
    watch.go(minutes=1)
    return client


# ---------------------------------------------------------------- the page


def test_the_first_line_says_which_way_to_move(heron: TestClient) -> None:
    page = heron.get(FIT).text
    assert instruction(page) == "Set the slotted bracket on the corner post: 3.0 mm to the right."
    assert re.search(r"Push the .*</span> <strong>\d\.\d mm (down|forward|to the right)", page)
    assert "take out 3 of 0.5 mm, so that it goes 1.5 mm forward" in page
    assert "Every place is then expected inside, the farthest is the gap at" in page
    assert "not home" in page
    assert "begin dry fit 2" in page
    assert "Cut edges are sharp" in page
    assert page.index("<h1>") < page.index("The body is true") < page.index("not home")


def test_a_panel_that_is_home_is_pinned(moved: TestClient) -> None:
    page = moved.get(FIT).text
    assert instruction(page) == "It is home: pin the left rear outer panel."
    assert "begin dry fit 3" not in page


def test_the_drawing_has_no_red_and_no_green(heron: TestClient) -> None:
    page = heron.get(FIT).text
    assert 'role="img"' in page
    assert "style=" not in page
    assert "#a34700" in page
    assert not {"#17693b", "#a3161a"} & set(re.findall(r"#[0-9a-f]{6}", page))


def test_figures_stand_behind_why(heron: TestClient) -> None:
    page = heron.get(FIT).text
    details = "".join(re.findall(r"<details.*?</details>", page, re.DOTALL))
    for words in ("All readings together", "JCGM 106:2012", "Datum:"):
        assert words in details
        assert words not in page.replace(details, "").split("<details")[0]


def test_inches_are_shown_to_who_reads_inches(heron: TestClient, desk: Desk) -> None:
    desk.store.remember(Person("Anna", units=Units.IN))
    page = unescape(heron.get(FIT).text)
    assert re.search(r"0\.\d{3} in", instruction(page))
    assert "a seated flange lies within u 0.012 in" in page
    assert not re.search(r"\d mm\b", re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL))


def test_an_empty_repair_says_what_to_add(client: TestClient) -> None:
    post(client, "/start", name="bare", zone="empty", drive="battery")
    page = client.get("/repairs/bare/fit")
    assert page.status_code == 200
    assert instruction(page.text) == "Say what there is to measure."
    assert "/repairs/bare/fit/add" in page.text


@pytest.mark.parametrize(
    "page",
    [
        *("", "/take", "/take?stage=1&at=end", "/read", "/read?of=span", "/readings", "/rows"),
        *("/confirm", "/add", "/add?kind=pair", "/add?kind=station", "/take?stage=9&at=%00:x"),
        *("/read?of=span:L5:nowhere", "/read?again=99999", "/read?of=compare:R5:L7"),
        "/add?kind=x",
    ],
)
def test_every_page_is_there(heron: TestClient, page: str) -> None:
    assert heron.get(f"{FIT}{page}").status_code == 200
    assert heron.get(f"/repairs/nobody/fit{page}").status_code == 404


def test_what_the_readings_check_is_on_the_page(heron: TestClient) -> None:
    page = heron.get(FIT).text
    assert 'id="checks"' in page
    assert "What each kind of check sees of the left rear outer panel" in page
    assert "Side against side holds" in page


def test_a_recheck_leads_to_reading_it_again(heron: TestClient, desk: Desk) -> None:
    read(heron, "span:L5:R2", value="2236", sure="yes")  # 200 mm off
    page = heron.get(FIT).text
    assert instruction(page).startswith("Read again: L5 to R2")
    assert "The others say 2440." in page
    link = re.search(r'href="([^"]*read\?again=\d+)"', page)
    assert link is not None
    to = heron.get(link[1])
    assert to.status_code == 303
    again = heron.get(to.headers["location"]).text
    assert "2236 mm" in again
    hidden = re.search(r'name="again" value="([0-9a-f-]+)"', again)
    assert hidden is not None
    before = said(desk, "reading")[-1]
    assert hidden[1] == str(before.id)
    assert read(heron, "span:L5:R2", value="2436", again=hidden[1]) == (303, FIT)
    assert said(desk, "withdrawn")[-1].body == {"id": str(before.id), "reason": "taken again"}
    assert not instruction(heron.get(FIT).text).startswith("Read again")


# ---------------------------------------------------------------- one reading


def test_a_span_is_stored_with_tool_and_dry_fit(heron: TestClient, desk: Desk) -> None:
    assert read(heron, "span:L5:R2", value="2436", **{"with": "tram"}) == (303, FIT)
    assert last(desk) == {
        "from": "L5",
        "to": "R2",
        "value": "2436 mm",
        "with": "tram",
        "setting": 1,
    }


@pytest.mark.parametrize(
    ("typed", "stored"), [("95 7/8", "95 7/8 in"), ("95.9", "95.9 in"), ("2436 mm", "2436 mm")]
)
def test_the_keypad_takes_fractions_of_an_inch(
    heron: TestClient, desk: Desk, typed: str, stored: str
) -> None:
    desk.store.remember(Person("Anna", units=Units.IN))
    assert read(heron, "span:L5:R2", value=typed)[0] == 303
    assert last(desk)["value"] == stored
    shown = "95.906 in" if typed.endswith("mm") else stored
    assert f"L5 to R2: {shown}" in heron.get(f"{FIT}/read?of=span:L5:R2").text


@pytest.mark.parametrize("typed", ["", "twenty", "0", "-12", "1,5"])
def test_a_wrong_span_comes_back_as_it_was_typed(heron: TestClient, desk: Desk, typed: str) -> None:
    count = len(said(desk, "reading"))
    status, page = read(heron, "span:L5:R2", value=typed)
    assert status == 422
    assert f'value="{typed}"' in page
    assert 'aria-invalid="true"' in page
    assert len(said(desk, "reading")) == count


def test_a_span_that_lacks_a_digit_is_asked_about(heron: TestClient, desk: Desk) -> None:
    status, page = read(heron, "span:L5:R2", value="243.6")
    assert status == 422
    assert re.search(r"about 24\d\d mm was expected", page)
    assert 'name="sure"' in page
    assert read(heron, "span:L5:R2", value="243.6", sure="yes")[0] == 303
    assert last(desk)["value"] == "243.6 mm"


@pytest.mark.parametrize("of", ["span:L5:nowhere", "span:L5:L5", "station:x", "weight:L5", ""])
def test_a_reading_of_nothing_is_not_found(heron: TestClient, of: str) -> None:
    assert read(heron, of, value="12")[0] == 404


def test_the_same_reading_sent_twice_is_one(heron: TestClient, desk: Desk) -> None:
    key = key_of(heron.get("/start").text)
    count = len(said(desk, "reading"))
    for _ in range(2):
        assert post(heron, f"{FIT}/reading", key, value="2436", **DIMENSIONS)[0] == 303
    assert len(said(desk, "reading")) == count + 1


def test_side_against_side_is_said_by_which_is_longer(heron: TestClient, desk: Desk) -> None:
    of = "compare:R5:L7:L5:R7"
    assert read(heron, of, longer="second", difference="3")[0] == 303
    assert last(desk)["compare"] == (("R5", "L7"), ("L5", "R7"))
    assert last(desk)["difference"] == "-3 mm"
    assert read(heron, of, longer="first", difference="3")[0] == 303
    assert last(desk)["difference"] == "3 mm"
    assert read(heron, of, longer="alike")[0] == 303
    assert last(desk)["difference"] == "0 mm"
    assert read(heron, of, longer="first")[0] == 422
    assert read(heron, of, difference="3")[0] == 422
    assert read(heron, of, longer="first", difference="-3")[0] == 422


def test_gap_and_flush_are_said_one_after_the_other(heron: TestClient, desk: Desk) -> None:
    status, to = read(heron, "station:d1", gap="5.6")
    assert (status, parse_qs(urlsplit(to).query)["gap"]) == (303, ["5.6 mm"])
    flush = heron.get(to).text
    assert instruction(flush) == "Flush: rear door, top"
    assert 'name="said_gap" value="5.6 mm"' in flush
    assert read(heron, "station:d1", said_gap="5.6 mm", flush="-0.4") == (303, FIT)
    assert last(desk) == {"station": "d1", "gap": "5.6 mm", "flush": "-0.4 mm", "setting": 1}


@pytest.mark.parametrize(
    ("gap", "flush", "stored"),
    [
        ({"gap_word": "wide"}, {"flush_word": "high"}, {"gap": "wide", "flush": "high"}),
        ({"gap_word": "tight"}, {"flush": "0.3"}, {"gap": "tight", "flush": "0.3 mm"}),
        ({"gap_word": "-"}, {"flush_word": "ok"}, {"flush": "ok"}),
        ({"gap": "5"}, {"flush_word": "-"}, {"gap": "5 mm"}),
    ],
)
def test_gap_and_flush_are_words_or_numbers(
    heron: TestClient,
    desk: Desk,
    gap: dict[str, str],
    flush: dict[str, str],
    stored: dict[str, str],
) -> None:
    to = read(heron, "station:d1", **gap)[1]
    said_gap = parse_qs(urlsplit(to).query)["gap"][0]
    assert read(heron, "station:d1", said_gap=said_gap, **flush)[0] == 303
    assert last(desk) == {"station": "d1", **stored, "setting": 1}


def test_a_station_needs_gap_or_flush(heron: TestClient) -> None:
    assert read(heron, "station:d1")[0] == 422
    assert read(heron, "station:d1", gap="much")[0] == 422
    assert read(heron, "station:d1", said_gap="-", flush_word="-")[0] == 422
    status, page = read(heron, "station:d1", said_gap="5 mm", flush="abc")
    assert status == 422
    assert 'value="abc"' in page
    assert 'name="said_gap" value="5 mm"' in page


@pytest.mark.parametrize(
    ("fields", "stored"),
    [
        ({"state": "seated"}, {"state": "seated"}),
        ({"state": "forced"}, {"state": "forced"}),
        ({"lift": "1.5"}, {"state": "open", "lift": "1.5 mm"}),
    ],
)
def test_a_flange_is_seated_open_or_forced(
    heron: TestClient, desk: Desk, fields: dict[str, str], stored: dict[str, str]
) -> None:
    assert read(heron, "contact:c1", **fields)[0] == 303
    assert last(desk) == {"contact": "c1", **stored, "setting": 1}


def test_an_open_flange_needs_how_far(heron: TestClient) -> None:
    assert read(heron, "contact:c1")[0] == 422
    assert read(heron, "contact:c1", lift="-1")[0] == 422


def test_a_pin_is_aligned_or_off_some_way(heron: TestClient, desk: Desk) -> None:
    assert read(heron, "locator:p2", state="aligned")[0] == 303
    assert last(desk) == {"locator": "p2", "state": "aligned", "setting": 1}
    page = heron.get(f"{FIT}/read?of=locator:p2").text
    # the slot of p2 runs along x with its pin along y: across it is y × x = −z, downward
    assert page.index('value="rearward"') < page.index('value="down"')
    fields = {"along": "1.2", "along_way": "forward", "across": "3.8", "across_way": "up"}
    assert read(heron, "locator:p2", **fields)[0] == 303
    assert last(desk)["off"] == ("-1.2 mm", "-3.8 mm")
    assert "off: 1.2 mm forward and 3.8 mm up" in heron.get(f"{FIT}/readings").text
    assert read(heron, "locator:p2", along="1.2")[0] == 422
    assert read(heron, "locator:p2")[0] == 422


def test_a_direction_is_a_word() -> None:
    assert way_of((0.0, -0.9, 0.1)) == Way("to the left", "to the right")
    assert way_of((0.9, 0.0, 0.1)) == Way("rearward", "forward")


def test_points_are_chosen_by_tapping(heron: TestClient) -> None:
    kinds = heron.get(f"{FIT}/read").text
    assert "Side against side" in kinds
    first = heron.get(f"{FIT}/read?of=compare").text
    assert instruction(first) == "First span: from which point?"
    assert "of=compare%3AR5" in first
    second = heron.get(f"{FIT}/read?of={quote('compare:R5:L7')}").text
    assert "The other side: L5 to R7" in second
    assert "of=compare%3AR5%3AL7%3AL5%3AR7" in second
    screen = heron.get(f"{FIT}/read?of={quote('compare:R5:L7:L5:R7')}").text
    assert instruction(screen) == "R5 to L7 against L5 to R7, with the tape"


def test_a_key_survives_any_name() -> None:
    target = Target(Read.SPAN, ("a:b%/ü", "c d"))
    assert target_of(target.key) == target
    assert target_of("span:a") is None


# ---------------------------------------------------------------- the list


def test_the_list_goes_on_by_itself(heron: TestClient, desk: Desk) -> None:
    post(heron, f"{FIT}/moved", part="outer", setting="2")
    at = f"{FIT}/take?stage=2"
    taken = []
    for _ in range(40):
        page = heron.get(at).text
        if "left to take" in page or "is taken" in page:
            break
        of = re.search(r'name="of" value="([^"]+)"', page)
        assert of is not None, page
        target = target_of(unescape(of[1]))
        assert target is not None
        taken.append(target.kind)
        fields = {
            Read.CONTACT: {"state": "seated"},
            Read.LOCATOR: {"state": "aligned"},
            Read.STATION: {"said_gap": "ok", "flush_word": "ok"},
            Read.COMPARE: {"longer": "alike"},
            Read.SPAN: {"value": "2000", "sure": "yes"},
        }[target.kind]
        status, at = post(heron, f"{FIT}/reading", of=target.key, stage="2", mode="list", **fields)
        assert status == 303
    assert taken[:7] == [Read.CONTACT] * 5 + [Read.LOCATOR] * 2
    assert taken[7:15] == [Read.STATION] * 8
    assert set(taken[15:]) == {Read.SPAN, Read.COMPARE}
    own = [fact for fact in said(desk, "reading") if fact.person == "Anna"]
    assert all(fact.body["setting"] == 2 for fact in own)
    assert len(own) == len(taken)


def test_skipping_goes_on_and_going_back_takes_it_again(heron: TestClient, desk: Desk) -> None:
    post(heron, f"{FIT}/moved", part="outer", setting="2")
    first = heron.get(f"{FIT}/take?stage=2").text
    assert "reading 1 of" in first
    second = heron.get(f"{FIT}/take?stage=2&after=contact%3Ac1").text
    assert "reading 2 of" in second
    fields = {"of": "contact:c1", "stage": "2", "mode": "list"}
    post(heron, f"{FIT}/reading", state="seated", **fields)
    back = heron.get(f"{FIT}/take?stage=2&at=contact%3Ac1").text
    assert "seated. A new reading takes its place" in back
    again = re.search(r'name="again" value="([0-9a-f-]+)"', back)
    assert again is not None
    post(heron, f"{FIT}/reading", lift="2", again=again[1], **fields)
    standing = [fact.body for fact in said(desk, "reading") if str(fact.id) != again[1]]
    assert standing[-1]["lift"] == "2 mm"
    assert said(desk, "withdrawn")[-1].body["id"] == again[1]


def test_the_list_without_scripts_is_plain_forms(heron: TestClient) -> None:
    page = heron.get(f"{FIT}/read?of=span:L5:R2").text
    main = page[page.index('<main id="live"') : page.index("</main>")]
    assert "hx-post" not in main
    assert "autofocus" in main
    refreshed = re.search(r'<main [^>]*hx-get="([^"]+)"', page)
    assert refreshed is not None
    assert unescape(refreshed[1]).startswith(f"{FIT}/read?of=span%3AL5%3AR2")


@pytest.mark.usefixtures("heron")
def test_before_cutting_the_body_is_measured_crosswise(desk: Desk) -> None:
    repair = desk.answers.known(NAME).repair
    stages = stages_of(repair)
    lines = wanted(repair, stages, stages.all[0], desk.answers.fit(desk.answers.known(NAME)))
    names = [line.target.names for line in lines]
    assert {("R1", "L1"), ("L1", "R1")} & set(names)
    assert {("R1", "L2"), ("R2", "L1"), ("L1", "R2")} & set(names)
    assert sum(line.index is not None for line in lines) == 9  # those of the example
    assert all("L5" not in one for one in names)


def test_a_reading_of_the_body_says_no_dry_fit(heron: TestClient, desk: Desk) -> None:
    read(heron, "span:C1:R4", value="641", sure="yes")
    assert "setting" not in last(desk)
    read(heron, "span:C1:R4", value="641", sure="yes", stage="before")
    assert last(desk)["when"] == "before"


# ---------------------------------------------------------------- a new dry fit


def test_a_moved_panel_begins_a_dry_fit(heron: TestClient, desk: Desk) -> None:
    status, to = post(heron, f"{FIT}/moved", part="outer", setting="2")
    assert (status, to) == (303, f"{FIT}/take?stage=2")
    body = said(desk, "event")[-1].body
    assert (body["kind"], body["part"], body["setting"]) == ("moved", "outer", 2)
    assert [dict(one) for one in body["adjusted"]] == [
        {"adjuster": "slotted bracket on the corner post", "to": pytest.approx(3.02, abs=0.03)},
        {"adjuster": "shims on the side-wall flange", "to": -1.5},
    ]
    page = heron.get(FIT).text
    assert instruction(page) == "left rear outer panel: take the readings of dry fit 2."
    assert "not read yet" in page


@pytest.mark.parametrize("fields", [{"part": "nothing", "setting": "2"}, {"part": "outer"}])
def test_a_dry_fit_of_nothing_is_refused(heron: TestClient, fields: dict[str, str]) -> None:
    assert post(heron, f"{FIT}/moved", **fields)[0] == 422


def test_no_dry_fit_is_left_out(heron: TestClient) -> None:
    status, page = post(heron, f"{FIT}/moved", part="outer", setting="5")
    assert status == 422
    assert "is number 2" in page


# ---------------------------------------------------------------- a table

GOOD = """from,to,value,with,station,gap,flush,contact,state,lift,locator,along,across,when
L5,R2,2436,tape,,,,,,,,,,
C2,L11,35 7/8 in,trammel,,,,,,,,,,
,,,,d1,wide,0.2 mm,,,,,,,
,,,,,,,c3,seated,,,,,
,,,,,,,c2,,1.3,,,,
,,,,,,,,off,,p2,-1.5,,
R1,R2,1340,,,,,,,,,,,before
"""


def test_a_table_is_stored_whole(heron: TestClient, desk: Desk) -> None:
    count = len(said(desk, "reading"))
    status, to = post(heron, f"{FIT}/rows", rows=GOOD, stage="1")
    assert (status, to) == (303, f"{FIT}/readings")
    own = [dict(fact.body) for fact in said(desk, "reading")[count:]]
    for body in own:
        assert body.pop("by") == "Anna"
        body.pop("at")
    assert own == [
        {"from": "L5", "to": "R2", "value": "2436 mm", "with": "tape", "setting": 1},
        {"from": "C2", "to": "L11", "value": "35 7/8 in", "with": "tram", "setting": 1},
        {"station": "d1", "gap": "wide", "flush": "0.2 mm", "setting": 1},
        {"contact": "c3", "state": "seated", "setting": 1},
        {"contact": "c2", "state": "open", "lift": "1.3 mm", "setting": 1},
        {"locator": "p2", "state": "off", "off": ("-1.5 mm", "0 mm"), "setting": 1},
        {"from": "R1", "to": "R2", "value": "1340 mm", "when": "before"},
    ]


@pytest.mark.parametrize("mark", [";", "\t", ","])
def test_a_table_without_names_is_spans(heron: TestClient, desk: Desk, mark: str) -> None:
    text = f"L5{mark}R2{mark}2436\n\nL6{mark}R2{mark}2100.5 mm{mark}tape\n"
    data = {"file": ("r.csv", f"\ufeff{text}".encode(), "text/csv")}
    key = key_of(heron.get("/start").text)
    answer = heron.post(f"{FIT}/rows", data={"key": key, "stage": "1"}, files=data)
    assert answer.status_code == 303
    assert [fact.body["value"] for fact in said(desk, "reading")[-2:]] == ["2436 mm", "2100.5 mm"]


BAD = """from,to,value,with,fit,station,gap
L5,R2,2436,,,,
L5,Q9,2436,,,,
L5,R2,long,,,,
L5,,12,,,,
L6,R2,2100,spoon,,,
L6,R2,2100,,7,,
L6,R2,0,,,,
L6,R2,2100,,,d1,5
,,,,,d1,
,,,,,d9,5
L6,R2,2100,,,,,,extra
"""


def test_each_bad_row_is_named_and_nothing_stored(heron: TestClient, desk: Desk) -> None:
    count = len(said(desk, "reading"))
    status, page = post(heron, f"{FIT}/rows", rows=BAD, stage="1")
    assert status == 422
    assert len(said(desk, "reading")) == count
    rows = dict(re.findall(r"<strong>Row (\d+):</strong> (.*?)</li>", unescape(page)))
    expected = {
        "3": "point 'Q9' is not there",
        "4": "value: ",
        "5": "column to is empty",
        "6": "with: 'spoon' does not read this",
        "7": "fit: '7' is none; dry fits so far: 1 to 1",
        "8": "a span is more than zero",
        "9": "a row says one thing",
        "10": "neither gap nor flush",
        "11": "station 'd9' is not there",
        "12": "9 cells, and there are 7 columns",
    }
    assert rows.keys() == expected.keys()
    assert all(words in rows[number] for number, words in expected.items())
    assert "L6,R2,2100,spoon" in page  # the text is kept
    assert "10 rows cannot be taken" in page


def test_a_table_pasted_twice_is_refused(heron: TestClient, desk: Desk) -> None:
    assert post(heron, f"{FIT}/rows", rows=GOOD, stage="1")[0] == 303
    count = len(said(desk, "reading"))
    status, page = post(heron, f"{FIT}/rows", rows=GOOD, stage="1")
    assert status == 422
    assert page.count("is there already, with the same value") == 7
    assert len(said(desk, "reading")) == count


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("", "Paste a table or choose a file."),
        ("from,to,value\n", "There is no row with a reading in it."),
        ("from,to,colour\nL5,R2,2\n", "column 'colour' is none"),
        ('from,to,value\n"L5,R2,2\n', "this is no table"),
        ("\n".join(["from,to,value", *["L5,R2,2436"] * 501]), "at most 500 rows"),
    ],
)
def test_no_table_is_said_so(heron: TestClient, rows: str, words: str) -> None:
    status, page = post(heron, f"{FIT}/rows", rows=rows, stage="1")
    assert status == 422
    assert words in unescape(page)


def test_a_file_that_is_no_text_is_refused(heron: TestClient) -> None:
    key = key_of(heron.get("/start").text)
    for data, words in ((b"\xff\xfe\x00", "This is no text"), (b"x" * 200_001, "larger than")):
        answer = heron.post(f"{FIT}/rows", data={"key": key}, files={"file": ("r", data)})
        assert answer.status_code == 422
        assert words in answer.text


# ---------------------------------------------------------------- all readings


def test_a_reading_is_withdrawn_with_a_reason(heron: TestClient, desk: Desk) -> None:
    fact = said(desk, "reading")[0]
    assert str(fact.id) in heron.get(f"{FIT}/readings").text
    action = f"{FIT}/withdraw"
    status, page = post(heron, action, fact=str(fact.id))
    assert status == 422
    assert "Say why" in page
    assert post(heron, action, fact=str(fact.id), reason="mistyped", own="a slip")[0] == 303
    assert said(desk, "withdrawn")[-1].body == {"id": str(fact.id), "reason": "a slip"}
    assert str(fact.id) not in heron.get(f"{FIT}/readings").text
    status, page = post(heron, action, fact=str(fact.id), reason="mistyped")
    assert status == 422
    assert "no such reading any more" in page


def test_what_was_just_stored_is_taken_back_in_one_tap(heron: TestClient, desk: Desk) -> None:
    read(heron, "span:L5:R2", value="2436")
    page = heron.get(f"{FIT}/read?of=contact:c1").text
    assert "L5 to R2: 2436 mm" in page
    fact = str(said(desk, "reading")[-1].id)
    fields = {"fact": fact, "reason": "mistyped", "then": f"{FIT}/take?stage=1"}
    assert post(heron, f"{FIT}/withdraw", **fields) == (303, f"{FIT}/take?stage=1")


def test_a_reading_that_is_not_used_says_why(heron: TestClient) -> None:
    assert "forced shut: told, but not used" in heron.get(f"{FIT}/readings").text


# ---------------------------------------------------------------- assumed


def test_a_layout_waits_to_be_confirmed(zone: TestClient) -> None:
    assert "assumed, confirm" in zone.get(ZONE).text
    page = zone.get(f"{ZONE}/confirm").text
    assert "L5 and R5: side-wall seam, top" in page
    assert "All 7 are right as they stand" in page


def test_one_pair_is_confirmed_and_corrected(zone: TestClient, desk: Desk) -> None:
    pair = [f for f in said(desk, "point", "zone-1") if f.body["id"] in ("L5", "R5")]
    fields = {"item": str(pair[0].id), "tolerance": "2", "hit": "L5"}
    assert post(zone, f"{ZONE}/confirm", **fields)[0] == 303
    points = desk.answers.known("zone-1").repair.point_by_id
    assert points["L5"].home == "twin"
    assert points["L5"].damaged
    assert not points["R5"].damaged
    assert getattr(points["L5"].tolerance, "mm", None) == 2
    assert not points["L5"].assumed
    assert points["L6"].home is None


def test_wants_are_corrected_by_number(zone: TestClient, desk: Desk) -> None:
    station = next(f for f in said(desk, "station", "zone-1") if f.body["id"] == "d1")
    fields = {"gap_want": "4.5", "gap_tolerance": "0", "flush_want": "0", "flush_tolerance": "1"}
    action = f"{ZONE}/confirm"
    status, page = post(zone, action, item=str(station.id), form="correct", **fields)
    assert status == 422
    assert 'value="4.5"' in page
    fields["gap_tolerance"] = "0.5"
    assert post(zone, action, item=str(station.id), **fields)[0] == 303
    found = desk.answers.known("zone-1").repair.stations
    assert [
        (s.id, s.gap.want.mm, s.gap.tolerance.mm) for s in found if s.gap and s.gap.tolerance
    ] == [("d1", 4.5, 0.5)]


def test_all_of_a_kind_are_confirmed_at_once(zone: TestClient, desk: Desk) -> None:
    key = key_of(zone.get("/start").text)
    for _ in range(2):
        assert post(zone, f"{ZONE}/confirm", key, kind="contact")[0] == 303
    repair = desk.answers.known("zone-1").repair
    assert len(repair.contacts) == 5
    assert repair.assumed.contacts == ()
    assert len(said(desk, "contact", "zone-1")) == 10
    assert post(zone, f"{ZONE}/confirm", kind="nothing")[0] == 404


def test_what_is_not_there_is_taken_away_unless_it_was_read(zone: TestClient, desk: Desk) -> None:
    by_id = {str(f.body["id"]): f for f in said(desk, "point", "zone-1")}
    fields = {"of": "span:L1:R1", "stage": "before", "mode": "one", "value": "1900"}
    assert post(zone, f"{ZONE}/reading", **fields)[0] == 303
    action = f"{ZONE}/confirm"
    status, page = post(zone, action, item=str(by_id["L1"].id), do="away")
    assert status == 422
    assert "withdraw those first" in page
    assert post(zone, action, item=str(by_id["L6"].id), do="away")[0] == 303
    known = desk.answers.known("zone-1")
    assert not {"L6", "R6"} & known.repair.point_by_id.keys()
    assert not known.repair.problems


# ---------------------------------------------------------------- added


def test_a_pair_is_added_beside_another(heron: TestClient, desk: Desk) -> None:
    fields = {"kind": "pair", "name": "arch, middle", "left_on": "outer", "right_on": "body"}
    action = f"{FIT}/add"
    status, page = post(heron, action, near="L6", **fields)
    assert status == 422
    assert 'value="arch, middle"' in page
    assert post(heron, action, near="L6", hit="left", tolerance="2", **fields)[0] == 303
    left, right = (fact.body for fact in said(desk, "point")[-2:])
    assert (left["id"], right["id"], left["twin"]) == ("L13", "R13", "R13")
    assert (left["home"], left["tolerance"], left["damaged"]) == ("twin", "2 mm", True)
    assert left["xyz"][1] < 0 < right["xyz"][1]  # type: ignore[index]
    assert "home" not in right
    assert not desk.answers.known(NAME).repair.problems


def test_a_station_is_added_by_words(heron: TestClient, desk: Desk) -> None:
    wants = {"gap_want": "4", "gap_tolerance": "1", "flush_want": "0", "flush_tolerance": "1"}
    fields = {"kind": "station", "name": "bumper, corner", "part": "outer", "beside": "bumper"}
    ways = {"gap_towards": "up", "flush_towards": "to the left", "near": "L8"}
    assert post(heron, f"{FIT}/add", **fields, **wants, **ways)[0] == 303
    body = said(desk, "station")[-1].body
    assert (body["gap_towards"], body["flush_towards"]) == ((0, 0, 1), (0, -1, 0))
    assert body["gap"] == {"want": "4 mm", "tolerance": "1 mm"}
    assert post(heron, f"{FIT}/add", **fields, **wants)[0] == 422
    ways["flush_towards"] = "up"
    assert post(heron, f"{FIT}/add", **fields, **wants, **ways)[0] == 422


def test_a_flange_and_a_slot_are_added_by_words(heron: TestClient, desk: Desk) -> None:
    fields = {"name": "here", "part": "outer", "against": "rail", "near": "L5"}
    assert post(heron, f"{FIT}/add", kind="contact", normal="up", **fields)[0] == 303
    assert said(desk, "contact")[-1].body["normal"] == (0, 0, 1)
    slot = {"axis": "across", "slot_along": "fore and aft", "clearance": "0.4"}
    assert post(heron, f"{FIT}/add", kind="locator", **slot, **fields)[0] == 303
    assert said(desk, "locator")[-1].body["slot_along"] == (1, 0, 0)
    fields["against"] = "outer"
    assert post(heron, f"{FIT}/add", kind="contact", normal="up", **fields)[0] == 422
    assert post(heron, f"{FIT}/add", kind="nothing")[0] == 422


# ---------------------------------------------------------------- in a browser


def test_readings_are_taken_in_a_browser(tmp_path: Path, examples: Path) -> None:
    with started() as browser, Served(place_of(tmp_path / "data"), Worker.THREAD) as served:
        put(served, examples / "heron.toml")
        with window(browser, served, size="phone") as (_, page):
            page.goto(f"{served.address}{FIT}")
            page.get_by_role("button", name="It is moved: begin dry fit 2").click()
            page.wait_for_url("**/take?stage=2")
            page.get_by_role("button", name="Seated").click()
            page.get_by_text("reading 2 of").wait_for()
            page.get_by_role("button", name="1", exact=True).click()
            page.get_by_role("button", name="Point").click()
            page.get_by_role("button", name="5", exact=True).click()
            page.get_by_role("button", name="Enter").click()
            page.get_by_text("reading 3 of").wait_for()
            page.goto(f"{served.address}{FIT}/take?stage=2&at=station%3Ad1")
            page.locator("input[name=gap]:focus").wait_for()
            page.keyboard.type("5.2")  # as a calliper types: the field has the focus
            page.keyboard.press("Enter")
            page.get_by_role("heading", name="Flush: rear door, top").wait_for()
            page.locator("input[name=flush]:focus").wait_for()
            page.keyboard.type("-0.2")
            page.keyboard.press("Enter")
            page.get_by_text("gap 5.2 mm, flush -0.2 mm").wait_for()
            assert fits(page)
        bodies = [dict(fact.body) for fact in said(served.desk, "reading")[-3:]]
        assert [body.get("lift") for body in bodies] == [None, "1.5 mm", None]
        assert bodies[2]["flush"] == "-0.2 mm"


@pytest.mark.parametrize("now", [0, 1])
def test_what_is_proposed_is_read_in_the_dry_fit_that_it_judges(
    heron: TestClient, desk: Desk, now: int
) -> None:
    del heron
    known = desk.answers.known(NAME)
    fit = desk.answers.fit(known)
    assert isinstance(fit, Answer)
    worth = replace(fit, next=tuple(replace(one, gain=1.0) for one in fit.next))
    stages = replace(stages_of(known.repair), now=Stage(now))
    view = view_of(known.repair, stages, worth, Units.MM, "/r/fit")
    assert view.next
    assert all(one.path.endswith("&stage=1") for one in view.next)
