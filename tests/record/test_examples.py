"""The demonstration repairs as job files, from facts to PDF."""

from __future__ import annotations

import io
from datetime import datetime

import pytest
from pypdf import PdfReader

from panelwright.facts.file import read
from panelwright.record import Options, Paper, Unanswered, gather, record, supplement

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


def test_every_point_joint_and_step_of_the_demonstration_is_in_it(heron):
    repair, answers = heron
    made = record(repair, answers, Options(paper=Paper.LETTER, as_of=AS_OF))
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(made.pdf)).pages]
    text = " ".join(" ".join(pages).replace("\u200b", "").replace("\u2060", "").split())
    for joint in answers.joints.joints:
        assert f"{repair.joint_by_id[joint.id].label} – " in text
    for part in answers.fit.parts:
        for point in part.points:
            assert f"{point.id} " in text
    solid = text.replace(" ", "")  # a line may break inside "squeeze-out"
    for step in answers.plan.steps:
        assert step.name.replace(" ", "") in solid
    assert all("Demo: invented data" in page for page in pages)


def test_more_damage_adds_the_supplement(heron, examples):
    repair, answers = heron
    found = read((examples / "heron-found.toml").read_text(encoding="utf-8"))
    after = gather(found, as_of=AS_OF)
    change = supplement(repair, answers, found, after)
    made = record(found, after, Options(as_of=AS_OF, supplement=change))
    second = PdfReader(io.BytesIO(made.pdf)).pages[1].extract_text()
    assert second.count("Supplement") == 1
    assert change.summary.split(";")[0] in " ".join(second.split())
