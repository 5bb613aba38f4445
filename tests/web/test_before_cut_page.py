"""Fit: what is worth reading while the old part is still on, and what would decide a verdict."""

from __future__ import annotations

from html import unescape
from typing import TYPE_CHECKING

from panelwright.facts.file import read
from panelwright.fit.before_cut import before_cut
from panelwright.fit.before_words import before_said, lost_words
from panelwright.plan.answer import PlanAnswer
from panelwright.record.answer import Answers, Options, Unanswered
from panelwright.record.before import before_of, step_before
from panelwright.record.blocks import Box, StepLine
from panelwright.record.job import Job
from panelwright.record.pages.fit_pages import fit_section
from panelwright.record.pages.steps import step_list
from tests.web.conftest import NOON, key_of, planned
from tests.web.uncut import OLD_PANEL

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from panelwright.web.desk import Desk
    from tests.web.conftest import Watch


def test_before_cutting_the_page_says_which_readings_are_lost_once_it_is_cut(
    client: TestClient, desk: Desk
) -> None:
    desk.store.import_text(OLD_PANEL, person="Berta")
    planned = before_cut(read(OLD_PANEL))
    assert planned is not None
    assert planned.readings
    page = unescape(client.get("/repairs/old-panel/fit").text)
    assert planned.words in page
    for one in planned.readings:
        assert one.loses in page
    first = unescape(client.get("/repairs/old-panel/fit/take?stage=before").text)
    assert f"{planned.readings[0].from_} to {planned.readings[0].to}, with the tape" in first


def test_now_and_plan_say_it_until_a_part_is_off(
    client: TestClient, desk: Desk, watch: Watch
) -> None:
    desk.store.import_text(OLD_PANEL, person="Berta")
    found = before_cut(read(OLD_PANEL))
    assert found is not None
    lost = lost_words(found)
    assert lost == "without them, P2, P3 and P1 cannot be judged at the dry fit"
    planned(desk, "old-panel")
    for page in ("", "/plan"):
        told = unescape(client.get(f"/repairs/old-panel{page}").text)
        assert found.words in told
        assert f"{lost[:1].upper()}{lost[1:]}." in told
        assert 'href="/repairs/old-panel/fit/take?stage=before"' in told
    answer = desk.answers.plan(desk.answers.known("old-panel")).answer
    assert isinstance(answer, PlanAnswer)
    at = step_before(answer.steps)
    assert at == "read-old"
    plan = unescape(client.get("/repairs/old-panel/plan").text)
    assert plan.index(f'id="step-{at}"') < plan.index(found.words, plan.index(f'id="step-{at}"'))
    watch.go(minutes=1)
    key = key_of(client.get("/start").text)
    body = '{"kind": "done", "step": "lift-off-outer"}'
    sent = {"key": key, "kind": "event", "body": body, "then": "/repairs/old-panel"}
    assert client.post("/repairs/old-panel/say", data=sent).status_code == 303
    assert before_of(desk.answers.known("old-panel").repair, Unanswered(())) is None
    desk.answers.fit(desk.answers.known("old-panel"))  # a page does not wait for it
    for page in ("", "/plan"):
        assert found.words not in unescape(client.get(f"/repairs/old-panel{page}").text)


def test_the_job_file_says_it_at_its_step_and_lists_each(desk: Desk) -> None:
    desk.store.import_text(OLD_PANEL, person="Berta")
    planned(desk, "old-panel")
    known = desk.answers.known("old-panel")
    repair = known.repair
    found = before_cut(repair)
    plan = desk.answers.plan(known).answer
    assert found is not None
    assert isinstance(plan, PlanAnswer)
    nothing = Unanswered(())
    fit = desk.answers.fit(known)
    answers = Answers(nothing, nothing, fit, nothing, nothing, plan)
    job = Job(repair, answers, Options(as_of=NOON))
    lines = [one for one in step_list(job).entries if isinstance(one, StepLine)]
    said = [line.detail.text for line in lines if found.words[1:] in line.detail.text]
    assert len(said) == 1
    assert "cannot be judged at the dry fit; they are listed under Fit" in said[0]
    boxes = [one for one in fit_section(job).blocks if isinstance(one, Box)]
    assert boxes[0].title == found.words
    assert [one.text for one in boxes[0].items] == list(before_said(found)[1:])


def test_an_open_verdict_says_what_would_decide_it(heron: TestClient) -> None:
    page = unescape(heron.get("/repairs/heron-114/fit").text)
    assert "What would decide each open verdict (1)" in page
    assert "L7: near its limit" in page
