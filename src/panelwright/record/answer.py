"""What the job file is made from, and what comes out."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from panelwright.bond.answer import BondAnswer
from panelwright.fit.answer import Answer as FitAnswer
from panelwright.joints.answer import JointsAnswer
from panelwright.plan.answer import PlanAnswer
from panelwright.plan.supplement import Supplement
from panelwright.quantities import Units
from panelwright.quiet.answer import Answer as QuietAnswer
from panelwright.teardown.answer import Answer as TeardownAnswer


class Paper(StrEnum):
    """Paper the job file is printed on."""

    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True)
class Unanswered:
    """A question that this repair cannot answer yet, with what is missing in words."""

    why: tuple[str, ...]


@dataclass(frozen=True)
class Answers:
    """What every room says of one repair."""

    teardown: TeardownAnswer | Unanswered
    joints: JointsAnswer | Unanswered
    fit: FitAnswer | Unanswered
    bond: BondAnswer | Unanswered
    quiet: QuietAnswer | Unanswered
    plan: PlanAnswer | Unanswered


@dataclass(frozen=True)
class Options:
    """How the job file is written.

    Parameters
    ----------
    paper : Paper
    units : Units
        Of lengths on the pages.
    as_of : datetime or None
        The time the file stands for; None: as the facts stand, no time is printed.
    log_head : str
        Hash of the repair's log, where there is one.
    supplement : Supplement or None
        What more damage changed; adds its sheet.
    """

    paper: Paper = Paper.A4
    units: Units = Units.MM
    as_of: datetime | None = None
    log_head: str = ""
    supplement: Supplement | None = None


@dataclass(frozen=True)
class Packet:
    """A job file as a PDF.

    Parameters
    ----------
    pdf : bytes
        The file itself.
    pages : int
        Number of pages.
    sha256 : str
        SHA-256 of `pdf`, 64 hexadecimal digits.
    signed_by : tuple of str
        Who signed what is in it, each once, in order of signing.
    replaced : tuple of str
        Characters that the job file's fonts lack and that stand as a box in it.
    """

    pdf: bytes = field(repr=False)
    pages: int
    sha256: str
    signed_by: tuple[str, ...]
    replaced: tuple[str, ...] = ()
