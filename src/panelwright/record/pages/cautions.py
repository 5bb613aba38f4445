"""Short names of the cautions, which stand at each step, and the sentences behind them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.record.blocks import Legend, Named, Said
from panelwright.record.job import inside

if TYPE_CHECKING:
    from panelwright.plan.answer import Caution
    from panelwright.record.job import Job

OWN = "own"
"""Id of every caution that a shop's or a procedure's own step brings along."""


def _short(caution: Caution) -> str:
    """A caution in a word or two: its id, or its first clause where the id says nothing."""
    if caution.id and caution.id != OWN:
        return caution.id.replace("-", " ")
    clause = caution.words.split(":", 1)[0].rstrip(". ")
    return inside(clause)


def caution_names(job: Job) -> dict[str, str]:
    """The name of each caution that an open step carries, by its sentence, in order of use."""
    names: dict[str, str] = {}
    for step in job.steps:
        for caution in () if step.done else step.cautions:
            if caution.words not in names:
                short = _short(caution)
                alike = sum(name.partition(" (")[0] == short for name in names.values())
                names[caution.words] = f"{short} ({alike + 1})" if alike else short
    return names


def legend(names: dict[str, str]) -> tuple[Legend, ...]:
    """Every caution in full, once; none where nothing is open."""
    items = tuple(Named(name, Said(words)) for words, name in sorted(names.items(), key=_by_name))
    return (Legend("Cautions by name", items),) if items else ()


def _by_name(item: tuple[str, str]) -> str:
    return item[1]
