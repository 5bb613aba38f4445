"""Write the job file."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.cli.ask import say
from panelwright.cli.load import load_for
from panelwright.errors import PanelwrightError
from panelwright.facts.problem import Question

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.record import Answers, Packet


def _written(path: Path, content: bytes) -> None:
    """Put a file in place whole, or not at all."""
    draft = path.with_name(f".{path.name}.draft")
    try:
        draft.write_bytes(content)
        os.replace(draft, path)  # noqa: PTH105 - atomic on every system
    except OSError as error:
        draft.unlink(missing_ok=True)
        raise PanelwrightError(f"{path} cannot be written: {error.strerror}") from error


@dataclass(frozen=True)
class Wishes:
    """How the job file is wanted.

    `paper` is "a4" or "letter", `as_of` the time that it stands for, `before` the file of the same
    repair before more damage was found (adds the supplement), `units` "mm" or "in".
    """

    paper: str = "a4"
    as_of: datetime | None = None
    before: str | None = None
    units: str = "mm"


def _packet(repair: Repair, answers: Answers, wishes: Wishes) -> Packet:
    from panelwright.quantities import Units  # noqa: PLC0415
    from panelwright.record import Options, Paper, gather, record, supplement  # noqa: PLC0415

    change = None
    if wishes.before is not None:
        earlier = load_for(wishes.before, Question.RECORD)
        change = supplement(earlier, gather(earlier, as_of=wishes.as_of), repair, answers)
    options = Options(
        paper=Paper(wishes.paper),
        units=Units(wishes.units),
        as_of=wishes.as_of,
        supplement=change,
    )
    return record(repair, answers, options)


def put(
    repair: Repair, answers: Answers, output: str, wishes: Wishes, *, as_json: bool = False
) -> int:
    """Write the job file of a repair whose answers are known, and say how many pages it has."""
    from panelwright.cli.pages.record import page  # noqa: PLC0415
    from panelwright.record.published import as_json as published  # noqa: PLC0415

    packet = _packet(repair, answers, wishes)
    _written(Path(output), packet.pdf)
    return say(
        partial(published, packet),
        partial(page, packet),
        [],
        Question.RECORD,
        as_json=as_json,
        units=wishes.units,
    )


def write(file: str, output: str, wishes: Wishes, *, as_json: bool = False) -> int:
    """Write the job file of a repair file, or of a stored repair."""
    from panelwright.record import gather, warm_up  # noqa: PLC0415

    repair = load_for(file, Question.RECORD)
    warm_up()  # the charts' engine starts while the rooms compute
    answers = gather(repair, as_of=wishes.as_of)
    return put(repair, answers, output, wishes, as_json=as_json)
