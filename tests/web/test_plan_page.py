"""Plan: what is next, hold points signed by tap, days, ready-for-paint, the chart."""

from __future__ import annotations

import re
from html import unescape

import pytest
from starlette.testclient import TestClient

from panelwright.plan.answer import PlanAnswer
from panelwright.record.when import When
from panelwright.web.desk import Desk
from panelwright.web.plan_view import WAITS, following, rows
from tests.web.conftest import Watch, planned
from tests.web.saying import NAME, REPAIR, said, tap
from tests.web.test_findings_page import waited

PLAN = f"{REPAIR}/plan"


def plan_of(desk: Desk) -> PlanAnswer:
    planned(desk)
    answer = desk.answers.plan(desk.answers.known(NAME)).answer
    assert isinstance(answer, PlanAnswer)
    return answer


@pytest.fixture
def made(moved: TestClient, desk: Desk) -> TestClient:
    """With the plan made."""
    planned(desk)
    return moved


def test_the_page_works_while_the_plan_is_made_and_shows_it_then(
    moved: TestClient, desk: Desk
) -> None:
    page = moved.get(PLAN).text
    assert "<progress" in page or "Ready for paint" in page
    assert "<h1>Next: " in waited(moved, desk, PLAN, "<h1>Next: ")


def test_ready_for_paint_is_said_with_both_ends(made: TestClient) -> None:
    page = unescape(made.get(PLAN).text)
    assert "9 times in 10 by then; even chance by" in page
    assert "keeps the promise" in page or "later than promised" in page


def test_cautions_stand_at_the_step(made: TestClient, desk: Desk) -> None:
    answer = plan_of(desk)
    page = unescape(made.get(PLAN).text)
    bead = next(step for step in answer.steps if step.id == "bead-outer")
    at = page.split('id="step-bead-outer"', 1)[1].split("</li>", 1)[0]
    assert bead.cautions
    for caution in bead.cautions:
        assert caution.words in at


def test_steps_that_set_the_time_and_hold_points_are_marked(made: TestClient, desk: Desk) -> None:
    answer = plan_of(desk)
    page = made.get(PLAN).text
    critical = next(id_ for id_ in answer.critical if f'id="step-{id_}"' in page)
    assert "sets the time" in page.split(f'id="step-{critical}"', 1)[1].split("</li>", 1)[0]
    hold = next(step for step in answer.steps if step.hold and not step.done)
    assert "hold point" in page.split(f'id="step-{hold.id}"', 1)[1].split("</li>", 1)[0]


def test_only_what_can_be_done_now_is_offered(made: TestClient, desk: Desk, watch: Watch) -> None:
    steps = {step.id: step for step in plan_of(desk).steps}
    offered = re.findall(r'id="next-([^"]+)"', made.get(PLAN).text)
    assert offered
    for step in offered:
        for before in steps[step].waits_for:
            one = steps.get(before)
            assert one is None or one.done or (one.by in WAITS and one.end <= watch.now)


def test_a_step_that_waits_for_another_is_passed_over(
    made: TestClient, desk: Desk, watch: Watch
) -> None:
    assert made.get(PLAN).status_code == 200
    shown = rows(plan_of(desk), watch.now, When.of("Europe/Berlin"))
    waits = tuple(row for row in shown if not row.wait and not row.ready)
    able = tuple(row for row in shown if not row.wait and row.ready)
    assert waits
    assert following((*waits, *able)) == able[:3]
    assert all(row.before for row in waits)


def test_a_step_done_by_tap_makes_another_the_next(
    made: TestClient, desk: Desk, watch: Watch
) -> None:
    page = made.get(PLAN).text
    step = page.split('id="done-', 1)[1].split('"', 1)[0]
    watch.go(minutes=1)
    assert tap(made, "event", f'{{"kind": "done", "step": "{step}"}}', PLAN) == 303
    assert said(desk, "event")[-1] == {"kind": "done", "step": step}
    assert next(one for one in plan_of(desk).steps if one.id == step).done
    assert f'id="done-{step}"' not in made.get(PLAN).text


def test_a_hold_point_is_signed_by_tap_once_what_comes_before_is_done(
    made: TestClient, desk: Desk, watch: Watch
) -> None:
    page = made.get(PLAN).text
    assert ">Sign</button>" not in page
    watch.go(minutes=1)
    before = next(s for s in plan_of(desk).steps if s.id == "final-fit" or "Final fit" in s.name)
    assert tap(made, "event", f'{{"kind": "done", "step": "{before.id}"}}', PLAN) == 303
    plan_of(desk)
    page = made.get(PLAN).text
    assert ">Sign</button>" in page
    told = page.split(">Sign</button>", 1)[0].rpartition("&#34;step&#34;: &#34;")[2]
    found = next(s for s in plan_of(desk).steps if s.hold and s.id == told.split("&#34;", 1)[0])
    watch.go(minutes=1)
    assert tap(made, "event", f'{{"kind": "done", "step": "{found.id}"}}', PLAN) == 303
    assert next(s for s in plan_of(desk).steps if s.id == found.id).done


def test_how_sure_the_plan_is_is_said_in_words(made: TestClient, desk: Desk) -> None:
    page = unescape(made.get(PLAN).text)
    assert "How sure" in page
    assert plan_of(desk).status.value in {"optimal", "feasible", "fallback"}
    assert "If every step took its usual time:" in page
    assert "Sources" in page


def test_the_chart_is_drawn_aside(made: TestClient, desk: Desk) -> None:
    page = waited(made, desk, PLAN, 'id="bars"')
    assert "<svg" in page.split('id="bars"', 1)[1]


def test_without_parts_the_page_says_where_to_begin(client: TestClient, desk: Desk) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n', person="Berta")
    assert "<h1>Say what is damaged first.</h1>" in client.get(PLAN).text
    assert client.get("/repairs/no-such/plan").status_code == 404


def test_a_plan_that_cannot_be_made_says_what_to_mend(client: TestClient, desk: Desk) -> None:
    text = f'[repair]\nname = "{NAME}"\n[[part]]\nid = "a"\n[[joint]]\nid = "j"\n'
    desk.store.import_text(text + 'layers = ["a", "b"]\n', person="Berta")
    page = client.get(PLAN).text
    assert "<h1>There is no plan yet.</h1>" in page
    assert "Mend first:" in page
