"""The job file says whether closing fits in the work time, and from when things may be done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime, timedelta

from tests.small import SKIN_ON_INNER, TIMES_AT_23

from panelwright import bond, joints, teardown
from panelwright.facts.file import read
from panelwright.record.answer import Answers, Options, Unanswered
from panelwright.record.blocks import Said
from panelwright.record.job import Job
from panelwright.record.pages.closing import closing_blocks, may_blocks

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
NONE = Unanswered(("not asked",))
SMALL = (
    """
[shop]
zone = "Europe/Berlin"
[conditions]
air = "27 °C"
humidity = 40
"""
    + SKIN_ON_INNER
    + """
[[adhesive]]
id = "G1"
limit = "80 °C"
lap_shear = "20 MPa"
"""
    + TIMES_AT_23
)


def job_of(more: str = "", as_of: datetime | None = NOW) -> Job:
    repair = read(SMALL + more)
    answers = Answers(
        teardown.answer(repair), joints.answer(repair), NONE, bond.answer(repair), NONE, NONE
    )
    return Job(repair, answers, Options(as_of=as_of))


def texts(value: object) -> Iterator[str]:
    if isinstance(value, Said):
        yield value.text
    elif isinstance(value, tuple):
        for one in value:
            yield from texts(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from texts(getattr(value, field.name))


def said(job: Job) -> str:
    answer = job.answers.bond
    assert not isinstance(answer, Unanswered)
    return "\n".join(texts((closing_blocks(job, answer), may_blocks(job, answer))))


def test_a_panel_that_fits_has_its_margin_and_its_latest_start() -> None:
    told = said(job_of())
    assert "(0.60 m, 10 rivets)" in told
    assert "at 27 °C" in told
    assert "fits, " in told
    assert "to spare" in told
    assert "Wed 25 Nov 11:40" in told  # 20 min before the break, 9 times in 10 enough
    assert "common practice, no source" in told


def test_without_a_time_it_stands_for_no_start_is_told() -> None:
    assert "Wed 25 Nov" not in said(job_of(as_of=None))


def test_one_that_does_not_fit_says_what_helps() -> None:
    told = said(job_of('[[step]]\nid = "rivet-skin"\nhours = 0.75\n'))
    assert "does not fit" in told
    assert "people at beads and rivets" in told
    assert "Cool bay and panel to" in told


def test_once_it_is_closed_the_late_bounds_stand_there() -> None:
    closed = NOW - timedelta(hours=1)
    event = f'[[event]]\nkind = "closed"\njoint = "edge"\nat = {closed.isoformat()}\n'
    job = job_of(event)
    told = said(job)
    assert "can be worked" not in told
    answer = job.answers.bond
    assert not isinstance(answer, Unanswered)
    handle = answer.joints[0].clock.handle
    assert handle is not None
    assert job.when.stamp(handle.late) in told
    assert "half of full strength" in told
