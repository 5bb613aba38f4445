"""The table of what each kind of check sees, in the job file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from panelwright.facts.file import read
from panelwright.facts.repair import Repair
from panelwright.fit import answer as fit_of
from panelwright.fit.answer import Answer as FitAnswer
from panelwright.fit.sees import MOTION_NAMES
from panelwright.quantities import Units
from panelwright.record.answer import Answers, Options, Unanswered
from panelwright.record.blocks import Block, RunIn, Table
from panelwright.record.job import Job
from panelwright.record.pages.fit_pages import fit_section
from panelwright.record.pages.fit_sees import sees_table

NONE = Unanswered(())


@pytest.fixture(scope="module")
def heron() -> tuple[Repair, FitAnswer]:
    """The demonstration repair in its first dry fit."""
    text = (Path(__file__).parents[2] / "examples" / "heron.toml").read_text("utf-8")
    return read(text), fit_of(read(text))


def job_of(repair: Repair, fit: FitAnswer, units: Units = Units.MM) -> Job:
    return Job(repair, Answers(NONE, NONE, fit, NONE, NONE, NONE), Options(units=units))


def said(blocks: tuple[Block, ...]) -> list[str]:
    return [item.text for block in blocks if isinstance(block, RunIn) for item in block.items]


def test_every_kind_stands_in_the_table_with_its_share(heron: tuple[Repair, FitAnswer]) -> None:
    job = job_of(*heron)
    table = next(one for one in sees_table(job, heron[1]) if isinstance(one, Table))
    assert [column.title for column in table.columns][2:-1] == list(MOTION_NAMES)
    rows = [[cell.text for cell in row.cells] for row in table.rows]
    assert [row[0] for row in rows] == [row.kind for row in heron[1].sees]
    for row, told in zip(rows, heron[1].sees, strict=True):
        assert row[1] == str(told.readings or "not read")
        assert row[2:-1] == [f"{100 * share:.0f}" for share in told.share]
        assert row[-1] == str(told.motions)
    assert table in fit_section(job).blocks


def test_the_cross_measure_is_put_in_its_place_in_words(heron: tuple[Repair, FitAnswer]) -> None:
    words = said(sees_table(job_of(*heron), heron[1]))
    assert words[1].startswith(
        "Side against side holds 2 of the 6 motions of the left rear outer panel: by itself it "
        "would not show up to"
    )
    assert "All six motions of the left rear outer panel" in words[2]
    inches = said(sees_table(job_of(*heron, Units.IN), heron[1]))
    assert " mm" not in inches[1]
    assert " in forward or rearward" in inches[1]


def test_a_part_of_which_a_motion_is_not_seen_is_not_called_checked(
    heron: tuple[Repair, FitAnswer],
) -> None:
    repair, fit = heron
    weak = tuple(replace(row, motions=min(row.motions, 5)) for row in fit.sees)
    words = said(sees_table(job_of(repair, fit), replace(fit, sees=weak)))
    assert not any("All six motions" in one for one in words)


def test_two_parts_are_told_apart(heron: tuple[Repair, FitAnswer]) -> None:
    repair, fit = heron
    both = (*fit.sees, replace(fit.sees[0], part="rail"))
    table = sees_table(job_of(repair, fit), replace(fit, sees=both))[0]
    assert isinstance(table, Table)
    firsts = [row.cells[0].text for row in table.rows]
    assert firsts[0].startswith("left rear outer panel: ")
    assert firsts[-1].endswith(f": {fit.sees[0].kind}")
    assert sees_table(job_of(repair, fit), replace(fit, sees=())) == ()
