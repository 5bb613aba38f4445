"""The job file: pages from facts and answers, set and sealed."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from panelwright.record.answer import Packet
from panelwright.record.blocks import Document
from panelwright.record.data import Writer, written
from panelwright.record.job import Job
from panelwright.record.pages.cover import cover
from panelwright.record.pages.cure import cure_section, plan_section
from panelwright.record.pages.fit_pages import fit_section
from panelwright.record.pages.hand_over import hand_over_section
from panelwright.record.pages.joint_sheets import joints_section
from panelwright.record.pages.kit import kit_section
from panelwright.record.pages.steps import steps_section
from panelwright.record.pages.supplement import supplement_section
from panelwright.record.typeset import Density, typeset

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.record.answer import Answers, Options
    from panelwright.record.data import Data


def document(job: Job) -> Document:
    """Every page of the job file, before it is set."""
    repair, options = job.repair, job.options
    as_of = (
        "as the facts stand" if options.as_of is None else (f"as of {job.when.full(options.as_of)}")
    )
    label = repair.vehicle.label
    sections = [
        steps_section(job),
        kit_section(job),
        joints_section(job),
        fit_section(job),
        cure_section(job),
        plan_section(job),
        hand_over_section(job),
    ]
    if options.supplement is not None:
        sections.insert(0, supplement_section(options.supplement))
    return Document(
        title=f"Job file {repair.name}",
        running=f"{repair.name} · {label}" if label else repair.name,
        as_of=f"job file {as_of}",
        log_head=options.log_head,
        invented=repair.repair.invented,
        cover=cover(job),
        sections=tuple(sections),
    )


MOST_PAGES = 8
"""Pages of a job file that can still be carried about, the supplement's apart."""


def _set(data: Data, most: int) -> tuple[bytes, int]:
    """The pages; set closer where they would be too many and that helps."""
    pdf, pages = typeset(data)
    if pages <= most:
        return pdf, pages
    closer = typeset(data, Density.CLOSE)
    return closer if closer[1] < pages else (pdf, pages)


def record(repair: Repair, answers: Answers, options: Options) -> Packet:
    """Write the job file.

    Parameters
    ----------
    repair : Repair
    answers : Answers
        What every room says of it; an `Unanswered` becomes a page that says what is missing.
    options : Options
        Paper, units, the time it stands for.

    Returns
    -------
    Packet
        The same facts, answers and options give the same bytes.

    Raises
    ------
    TypesetError
        Where the pages cannot be set.
    """
    job = Job(repair, answers, options)
    writer = Writer()
    data = written(document(job), writer, options.paper.value)
    pdf, pages = _set(data, MOST_PAGES if options.supplement is None else MOST_PAGES + 1)
    return Packet(
        pdf=pdf,
        pages=pages,
        sha256=hashlib.sha256(pdf).hexdigest(),
        signed_by=job.signed_by,
        replaced=tuple(writer.replaced),
    )
