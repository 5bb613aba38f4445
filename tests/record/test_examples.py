"""The demonstration repairs as job files, from facts to PDF."""

from __future__ import annotations

import io
import re
from datetime import datetime

import pytest
from pypdf import PdfReader

from panelwright.facts.file import read
from panelwright.plan.answer import Who
from panelwright.quantities import Units
from panelwright.record import Options, Packet, Paper, Unanswered, gather, record, supplement
from panelwright.record.blocks import Act, OwedList, StepLine
from panelwright.record.job import Job, is_wait
from panelwright.record.pages.hand_over import FULL_CURE, hand_over_section
from panelwright.record.pages.steps import step_list, thing

AS_OF = datetime.fromisoformat("2026-11-20T13:05:00+01:00")


@pytest.fixture(scope="module")
def heron(examples):
    repair = read((examples / "heron.toml").read_text(encoding="utf-8"))
    return repair, gather(repair, as_of=AS_OF)


@pytest.mark.invariant
def test_the_demonstration_is_written_whole_and_twice_the_same(heron):
    repair, answers = heron
    first = record(repair, answers, Options(as_of=AS_OF))
    again = record(repair, gather(repair, as_of=AS_OF), Options(as_of=AS_OF))
    assert first.pdf == again.pdf
    assert first.replaced == ()
    assert not any(isinstance(answer, Unanswered) for answer in vars(answers).values())


def words_of(made: Packet) -> str:
    """All words of a job file without the breaks of its lines and long words."""
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(made.pdf)).pages]
    return " ".join(" ".join(pages).replace("\u200b", "").replace("\u2060", "").split())


def test_every_point_joint_and_step_of_the_demonstration_is_in_it(heron):
    repair, answers = heron
    options = Options(paper=Paper.LETTER, as_of=AS_OF)
    made = record(repair, answers, options)
    text = words_of(made)
    for number, joint in enumerate(answers.joints.joints, start=1):
        assert f"{number} {repair.joint_by_id[joint.id].label}" in text
    for part in answers.fit.parts:
        for point in part.points:
            assert f"{point.id} " in text
    solid = text.replace(" ", "").lower()  # a line may break inside "squeeze-out"
    job = Job(repair, answers, options)
    assert "full strength of every bonded joint:" in text
    over = {step.id for step in job.steps if is_wait(step) and step.done}
    for step in job.steps:
        if step.id in over or step.id.startswith(FULL_CURE):
            continue
        before, _, after = step.name.partition(thing(job, step) or step.name)
        said = [(before, after), (step.short, "(as step")]
        assert any(all(w.replace(" ", "").lower() in solid for w in words) for words in said), (
            step.name
        )
        assert thing(job, step).replace(" ", "").lower() in solid
    pages = PdfReader(io.BytesIO(made.pdf)).pages
    assert all("Demo: invented data" in page.extract_text() for page in pages)


@pytest.mark.invariant
def test_every_step_to_do_has_one_number_and_one_box(heron):
    repair, answers = heron
    job = Job(repair, answers, Options(as_of=AS_OF))
    lines = [entry for entry in step_list(job).entries if isinstance(entry, StepLine)]
    listed = [item.number for line in lines if line.act is not Act.WAIT for item in line.items]
    owed = [block for block in hand_over_section(job).blocks if isinstance(block, OwedList)]
    after = [
        number
        for item in owed[0].items
        for number in ([one.number for one in item.items] or [int(item.run)])
    ]
    work = [step for step in job.steps if step.by not in (Who.NOBODY, Who.LAMP)]
    assert sorted([*listed, *after]) == list(range(1, len(work) + 1))


@pytest.mark.invariant
def test_every_caution_of_an_open_step_is_said_in_full(heron):
    repair, answers = heron
    text = words_of(record(repair, answers, Options(as_of=AS_OF))).replace(" ", "")
    undone = [step for step in answers.plan.steps if not step.done]
    cautions = {caution.words for step in undone for caution in step.cautions}
    assert cautions
    for words in cautions:
        assert words.replace(" ", "") in text


MOST_PAGES = {Paper.A4: 8, Paper.LETTER: 9}
"""Letter is 18 mm shorter: since the lamp's map and the work time are in it, the sources stand on a
sheet of their own there."""


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("as_of", [AS_OF, None])
def test_the_demonstration_is_a_job_file_of_few_pages(heron, paper, as_of):
    repair, answers = heron
    answers = answers if as_of else gather(repair)
    made = record(repair, answers, Options(paper=paper, as_of=as_of))
    assert 4 <= made.pages <= MOST_PAGES[paper]


@pytest.mark.parametrize("paper", list(Paper))
def test_the_moved_panel_is_a_job_file_of_few_pages(examples, paper):
    repair = read((examples / "heron-moved.toml").read_text(encoding="utf-8"))
    made = record(repair, gather(repair), Options(paper=paper))
    assert 4 <= made.pages <= MOST_PAGES[paper]


def test_lengths_of_moves_and_checks_are_in_inches_where_asked(heron):
    repair, answers = heron
    text = words_of(record(repair, answers, Options(units=Units.IN)))
    assert answers.fit.parts[0].moves
    assert "push the front top corner 0.1" in text
    assert not re.search(r"push the [a-z ]*\d[\d.]* mm", text)


def test_more_damage_adds_the_supplement(heron, examples):
    repair, answers = heron
    found = read((examples / "heron-found.toml").read_text(encoding="utf-8"))
    after = gather(found, as_of=AS_OF)
    change = supplement(repair, answers, found, after)
    made = record(found, after, Options(as_of=AS_OF, supplement=change))
    second = PdfReader(io.BytesIO(made.pdf)).pages[1].extract_text()
    assert second.count("Supplement") == 1
    assert change.summary.split(";")[0] in " ".join(second.split())


def test_what_was_found_stands_in_the_job_file_with_who_and_when(examples):
    repair = read((examples / "heron-found.toml").read_text(encoding="utf-8"))
    assert repair.findings
    text = words_of(record(repair, gather(repair, as_of=AS_OF), Options(as_of=AS_OF)))
    for finding in repair.findings:
        assert finding.what in text
        assert finding.by is None or finding.by in text
