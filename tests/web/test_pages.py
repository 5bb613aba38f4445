"""Every address of these pages: what it answers, and what it does with what does not fit."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright.facts.layouts import layouts
from panelwright.quantities import Units
from panelwright.store import Person, Theme
from panelwright.web.desk import Desk
from panelwright.web.visit import COOKIE
from tests.web.conftest import Watch, desk_of, key_of, planned

REPAIR = "/repairs/heron-114"


def begin(client: TestClient, **fields: str) -> tuple[int, str, str]:
    """Send the form of the page Start; its values are filled in where not given."""
    key = key_of(client.get("/start").text)
    told = {"zone": "empty", "name": "van-7", "drive": "battery", "label": "", "key": key}
    answer = client.post("/start", data={**told, **fields})
    return answer.status_code, answer.headers.get("location", ""), answer.text


# ------------------------------------------------------------------- people


def test_who_has_not_said_a_name_is_asked_first(nobody: TestClient) -> None:
    answer = nobody.get("/repairs")
    assert (answer.status_code, answer.headers["location"]) == (303, "/people?then=/repairs")


def test_a_cookie_with_a_name_that_nobody_has_is_nobody(nobody: TestClient) -> None:
    nobody.cookies.set(COOKIE, "Zoe")
    assert nobody.get("/repairs").status_code == 303


def test_a_new_name_is_kept_with_its_units(nobody: TestClient) -> None:
    form = {"name": "Jörg Ünal", "units": "in", "then": "/start"}
    answer = nobody.post("/people", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/start")
    assert "SameSite=strict" in answer.headers["set-cookie"]
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert desk_of(nobody).store.people() == (Person("Jörg Ünal", Units.IN, Theme.SYSTEM),)
    assert "Jörg Ünal" in nobody.get("/repairs").text


def test_choosing_a_name_keeps_its_settings(client: TestClient, desk: Desk) -> None:
    desk.store.remember(Person("Berta", Units.IN, Theme.DARK))
    assert client.post("/people", data={"name": "Berta", "then": "/"}).status_code == 303
    assert Person("Berta", Units.IN, Theme.DARK) in desk.store.people()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"name": ""}, "Write your name."),
        ({"name": "x" * 201}, "This is too long"),
        ({"name": "a\x07b"}, "letters that can be seen"),
        ({"name": "Carl", "units": "ell"}, "is not one of the choices"),
        ({"name": "Carl", "theme": "pink"}, "is not one of the choices"),
    ],
)
def test_a_name_that_cannot_be_kept_comes_back(
    client: TestClient, fields: dict[str, str], words: str
) -> None:
    answer = client.post("/people", data=fields)
    assert answer.status_code == 422
    assert words in answer.text


@pytest.mark.parametrize("then", ["//evil.example/", "https://evil.example", "/\\evil", "x", ""])
def test_no_name_leads_away_from_these_pages(client: TestClient, then: str) -> None:
    answer = client.post("/people", data={"name": "Anna", "then": then})
    assert answer.headers["location"] == "/"


def test_the_theme_of_a_person_stands_on_each_page(client: TestClient, desk: Desk) -> None:
    desk.store.remember(Person("Anna", Units.MM, Theme.DARK))
    assert 'data-theme="dark"' in client.get("/repairs").text


# ------------------------------------------------------------------ repairs


def test_the_first_address_leads_to_the_list(client: TestClient) -> None:
    answer = client.get("/")
    assert (answer.status_code, answer.headers["location"]) == (303, "/repairs")


def test_the_list_of_an_empty_store_says_how_to_start(client: TestClient) -> None:
    answer = client.get("/repairs")
    assert answer.status_code == 200
    assert "Start the first repair." in answer.text


def test_the_list_gives_next_action_and_ready_for_paint_time(moved: TestClient, desk: Desk) -> None:
    moved.get("/repairs")
    planned(desk)
    desk.summaries.settle(30.0)
    page = moved.get("/repairs").text
    assert "heron-114" in page
    assert "Ready for paint <strong>" in page
    assert "is being made" not in page


def test_a_repair_that_is_not_read_yet_says_so(heron: TestClient, desk: Desk) -> None:
    desk.summaries.close()
    assert "This repair is being read." in heron.get("/repairs").text


def test_an_unknown_repair_is_a_page_that_says_so(client: TestClient) -> None:
    for path in ("", "/log", "/photos"):
        answer = client.get(f"/repairs/nothing{path}")
        assert answer.status_code == 404
        assert "There is no such repair." in answer.text
        assert "To the repairs" in answer.text


def test_an_unknown_page_says_so(client: TestClient) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "There is no such page." in answer.text


def test_a_page_that_takes_no_form_says_so(client: TestClient) -> None:
    answer = client.post("/repairs")
    assert answer.status_code == 405
    assert "takes no such form" in answer.text


# -------------------------------------------------------------------- start


def test_start_offers_every_zone(client: TestClient) -> None:
    page = client.get("/start").text
    for layout in layouts():
        assert layout.name in page


@pytest.mark.parametrize("zone", [layout.id for layout in layouts()])
def test_a_repair_starts_from_each_zone(client: TestClient, desk: Desk, zone: str) -> None:
    status, location, _ = begin(client, zone=zone, side="left", label="a grey van")
    assert (status, location) == (303, "/repairs/van-7")
    known = desk.answers.known("van-7")
    assert known.repair.parts
    assert known.repair.vehicle.label == "a grey van"
    assert {fact.person for fact in known.log.facts} == {"Anna"}
    assert client.get(location).status_code == 200


def test_a_repair_starts_empty(client: TestClient, desk: Desk, watch: Watch) -> None:
    assert begin(client)[:2] == (303, "/repairs/van-7")
    known = desk.answers.known("van-7")
    assert known.repair.parts == ()
    assert known.repair.repair.opened == watch.now
    assert "Say what is damaged." in client.get("/repairs/van-7").text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"name": ""}, "Give the repair a name"),
        (
            {"name": "a b / Ü"},
            "only a to z, digits and dashes, no dash first, such as &#34;a-b-U&#34;",
        ),
        ({"name": "-a"}, "no dash first"),
        ({"zone": ""}, "Choose where the damage is."),
        ({"zone": "moon"}, "is not one of the choices"),
        ({"zone": "roof", "side": ""}, "Choose the side."),
        ({"drive": ""}, "Choose what drives it."),
        ({"key": "x"}, "open the page anew"),
    ],
)
def test_a_start_that_does_not_fit_comes_back_with_its_values(
    client: TestClient, fields: dict[str, str], words: str
) -> None:
    status, _, page = begin(client, **{"label": "a <grey> van", **fields})
    assert status == 422
    assert words in page
    assert "a &lt;grey&gt; van" in page
    assert client.get("/api/repairs").json() == {"repairs": []}


def test_a_name_that_is_taken_comes_back_on_its_field(client: TestClient) -> None:
    assert begin(client)[0] == 303
    status, _, page = begin(client)
    assert status == 422
    assert "give the new one another name" in page


def test_the_same_start_sent_twice_starts_one_repair(client: TestClient, desk: Desk) -> None:
    key = key_of(client.get("/start").text)
    form = {"zone": "empty", "name": "van-7", "drive": "battery", "label": "", "key": key}
    assert [client.post("/start", data=form).status_code for _ in range(2)] == [303, 303]
    assert len(desk.store.log("van-7").entries) == 2


def test_a_repair_file_is_brought_in(client: TestClient, desk: Desk, examples: Path) -> None:
    file = ("heron.toml", (examples / "heron.toml").read_bytes(), "application/toml")
    answer = client.post("/start/file", files={"file": file}, data={"as": ""})
    assert (answer.status_code, answer.headers["location"]) == (303, REPAIR)
    assert {fact.person for fact in desk.store.log("heron-114").facts} == {"Anna"}


def test_an_exported_repair_is_brought_in_under_another_name(
    heron: TestClient, desk: Desk, tmp_path: Path
) -> None:
    desk.store.export_repair("heron-114", tmp_path / "a.zip")
    file = ("a.zip", (tmp_path / "a.zip").read_bytes(), "application/zip")
    answer = heron.post("/start/file", files={"file": file}, data={"as": "heron-115"})
    assert answer.headers["location"] == "/repairs/heron-115"
    assert desk.store.log("heron-115").head == desk.store.log("heron-114").head


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("a.toml", b"", "Choose a file"),
        ("a.toml", b"part = 3", "This file cannot be taken"),
        ("a.toml", b"\xff\xfe", "save it as UTF-8"),
        ("a.zip", b"no archive", "This file cannot be taken"),
        ("../../etc/passwd", b"[[part]]\nid = 3", "part[0].id"),
    ],
)
def test_a_file_that_cannot_be_read_comes_back(
    client: TestClient, name: str, data: bytes, words: str
) -> None:
    files = {"file": (name, data, "application/octet-stream")}
    answer = client.post("/start/file", files=files, data={"as": "kept-name"})
    assert answer.status_code == 422
    assert words in answer.text
    assert "kept-name" in answer.text


# ---------------------------------------------------------------------- now


def test_now_says_what_to_do_with_its_cautions(moved: TestClient, desk: Desk) -> None:
    planned(desk)
    page = moved.get(REPAIR).text
    plan = desk.answers.plan(desk.answers.known("heron-114")).answer
    assert plan is not None
    step = next(s for s in plan.steps if not s.done and s.by.value != "nobody")  # type: ignore[union-attr]
    assert f"<h1>{step.name[:1].upper()}{step.name[1:]}.</h1>" in page
    for caution in step.cautions:
        assert caution.words in page


def test_the_plan_is_announced_while_it_is_made(heron: TestClient, desk: Desk) -> None:
    desk.work.ask = lambda _: None  # type: ignore[method-assign]
    page = heron.get(REPAIR).text
    assert "One moment: the plan is being made." in page
    assert "Make the vehicle safe" not in page
    assert "<progress" in page


def test_a_tap_marks_the_step_as_done(moved: TestClient, desk: Desk, watch: Watch) -> None:
    planned(desk)
    form = {
        "key": key_of(moved.get("/start").text),
        "kind": "event",
        "body": json.dumps({"kind": "done", "step": "pin-outer"}),
        "then": REPAIR,
    }
    assert moved.post(f"{REPAIR}/say", data=form).headers["location"] == REPAIR
    fact = desk.store.log("heron-114").facts[-1]
    assert (fact.kind, fact.body["step"], fact.person) == ("event", "pin-outer", "Anna")
    assert fact.body["by"] == "Anna"
    assert fact.body["at"] == "2026-11-25T13:00:00+01:00"  # noon UTC on the shop's clock


def test_a_tap_sent_twice_is_one_fact_although_time_went_on(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    body = json.dumps({"kind": "done", "step": "pin-outer"})
    form = {"key": key_of(moved.get("/start").text), "kind": "event", "body": body}
    before = len(desk.store.log("heron-114").entries)
    assert moved.post(f"{REPAIR}/say", data=form).status_code == 303
    watch.go(seconds=5)
    assert moved.post(f"{REPAIR}/say", data=form).status_code == 303
    assert len(desk.store.log("heron-114").entries) == before + 1


def test_two_taps_of_one_page_are_two_facts(moved: TestClient, desk: Desk) -> None:
    key = key_of(moved.get("/start").text)
    before = len(desk.store.log("heron-114").entries)
    for step in ("pin-outer", "match-drill-outer"):
        body = json.dumps({"kind": "done", "step": step})
        form = {"key": key, "kind": "event", "body": body}
        assert moved.post(f"{REPAIR}/say", data=form).status_code == 303
    assert len(desk.store.log("heron-114").entries) == before + 2


@pytest.mark.parametrize(
    ("kind", "body", "words"),
    [
        ("event", "{", "The button said nothing"),
        ("event", "[]", "The button said nothing"),
        ("event", '{"kind": "danced"}', "danced"),
        ("event", '{"kind": "done", "mood": 1}', "no such key"),
        ("joke", "{}", "is no kind of fact"),
        ("withdrawn", '{"id": "x"}', "withdrawn on the page Log"),
        ("", "{}", "What is said?"),
    ],
)
def test_a_tap_that_says_nothing_true_is_refused(
    heron: TestClient, desk: Desk, kind: str, body: str, words: str
) -> None:
    before = desk.store.log("heron-114")
    form = {"key": key_of(heron.get("/start").text), "kind": kind, "body": body}
    answer = heron.post(f"{REPAIR}/say", data=form)
    assert answer.status_code == 422
    assert words in answer.text
    assert desk.store.log("heron-114") == before


def test_now_says_what_would_answer_what_is_open(client: TestClient) -> None:
    begin(client)
    page = client.get("/repairs/van-7").text
    assert "Not answered yet" in page
    assert "on the page Joints" in page
    assert "[[" not in page


# ---------------------------------------------------------------------- log


def test_the_log_shows_every_fact_who_and_when(heron: TestClient, desk: Desk) -> None:
    page = heron.get(f"{REPAIR}/log").text
    total = len(desk.store.log("heron-114").entries)
    assert f"{total} entries" in page
    assert "Berta, Fri 20 Nov 2026, 08:10 CET" in page


def test_older_entries_are_a_page_further(heron: TestClient, desk: Desk) -> None:
    total = len(desk.store.log("heron-114").entries)
    seen = set()
    for before in range(total, 0, -100):
        page = heron.get(f"{REPAIR}/log?before={before}").text
        seen |= {n for n in range(total) if f'id="entry-{n}"' in page}
    assert seen == set(range(total))


@pytest.mark.parametrize("before", ["-5", "0", "999999999999"])
def test_odd_places_in_the_log_are_pages_too(heron: TestClient, before: str) -> None:
    assert heron.get(f"{REPAIR}/log?before={before}").status_code == 200


def test_no_number_of_an_entry_is_told(heron: TestClient) -> None:
    assert heron.get(f"{REPAIR}/log?before=x").status_code == 422


def withdraw(client: TestClient, fact: str, reason: str) -> tuple[int, str]:
    key = key_of(client.get(f"{REPAIR}/log").text)
    form = {"key": key, "fact": fact, "reason": reason}
    answer = client.post(f"{REPAIR}/log/withdraw", data=form)
    return answer.status_code, answer.text


def test_a_fact_is_withdrawn_with_its_reason(heron: TestClient, desk: Desk) -> None:
    fact = desk.store.log("heron-114").facts[-1]
    assert withdraw(heron, str(fact.id), "wrong tape")[0] == 303
    known = desk.answers.known("heron-114")
    assert fact.id in known.folded.withdrawn
    page = heron.get(f"{REPAIR}/log").text
    assert "wrong tape" in page
    assert "withdrawn</span>" in page


def test_a_withdrawal_without_reason_comes_back_at_its_entry(heron: TestClient, desk: Desk) -> None:
    fact = desk.store.log("heron-114").facts[-1]
    status, page = withdraw(heron, str(fact.id), "  ")
    assert status == 422
    assert page.count("Say why: the reason stays in the log.") == 1
    assert "open>" in page


def test_what_is_withdrawn_cannot_be_withdrawn_again(heron: TestClient, desk: Desk) -> None:
    fact = str(desk.store.log("heron-114").facts[-1].id)
    assert withdraw(heron, fact, "first")[0] == 303
    status, page = withdraw(heron, fact, "second")
    assert status == 422
    assert "withdrawn already" in page


@pytest.mark.parametrize("fact", ["nothing", "0199aaaa-0000-7000-8000-000000000000", ""])
def test_no_entry_is_no_withdrawal(heron: TestClient, fact: str) -> None:
    assert withdraw(heron, fact, "because")[0] == 422


def test_the_log_says_when_on_the_shops_clock(moved: TestClient) -> None:
    page = moved.get(f"{REPAIR}/log").text
    assert "locator p2 · state aligned · by technician 1 at Tue 24 Nov 11:38" in page
    assert "2026-11-24T" not in page


def test_what_people_type_is_never_markup(client: TestClient, desk: Desk) -> None:
    begin(client, label="<script>alert(1)</script>")
    for path in ("", "/log"):
        page = client.get(f"/repairs/van-7{path}").text
        assert "<script>alert" not in page


# ---------------------------------------------------------------- fragments


def test_a_page_and_its_fragment_come_from_one_template(heron: TestClient) -> None:
    whole = heron.get(f"{REPAIR}/log").text
    part = heron.get(f"{REPAIR}/log", headers={"hx-request": "true"}).text
    assert whole.startswith("<!doctype html>")
    assert "<html" not in part
    assert '<h1 class="page">Log</h1>' in part
    assert '<h1 class="page">Log</h1>' in whole


def test_a_line_of_the_list_is_made_anew_only_while_somebody_looks(
    heron: TestClient, desk: Desk, watch: Watch
) -> None:
    from tests.web.test_live import fact  # noqa: PLC0415

    def label() -> str:
        desk.summaries.follow(["heron-114"])
        assert desk.summaries.settle(60.0)
        made = desk.summaries._made.get("heron-114")
        return made.label if made else ""

    desk.live.on_facts.clear()
    assert label() == ""
    heron.get("/repairs")
    desk.store.append("heron-114", [fact(1)])
    assert label() == "1"
    watch.go(minutes=11)
    desk.store.append("heron-114", [fact(2)])
    assert label() == "1"
    heron.get("/repairs")
    assert label() == "2"
