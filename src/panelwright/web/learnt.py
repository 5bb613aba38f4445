"""How fast this shop works, from the logs of all stored repairs; each log is read once."""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

from panelwright.errors import PanelwrightError
from panelwright.plan.pace import Paces, Run, paces, runs_of

if TYPE_CHECKING:
    from panelwright.store import Store
    from panelwright.web.answers import Answers
    from panelwright.web.known import Known

MOST_LOGS = 40
"""Of the repairs worked on last: a shop's pace of years ago is another."""


class Learnt:
    """Keeps by repair what its log tells, as long as the log is the same."""

    def __init__(self, store: Store, answers: Answers) -> None:
        self._store = store
        self._answers = answers
        self._runs: dict[str, tuple[str | None, tuple[Run, ...]]] = {}
        self._lock = Lock()

    def paces(self, here: Known) -> Paces:
        """Give the shop's paces; the repair that is shown counts as it stands on the page."""
        last = sorted(self._store.repairs(), key=lambda one: -one.last_seq)[:MOST_LOGS]
        with self._lock:
            found = {one.name: self._of(one.name, one.head) for one in last}
            self._runs = {name: self._runs[name] for name in found if name in self._runs}
        found[here.name] = runs_of(here.repair)
        return paces(run for name in sorted(found) for run in found[name])

    def _of(self, name: str, head: str | None) -> tuple[Run, ...]:
        kept = self._runs.get(name)
        if kept is not None and kept[0] == head:
            return kept[1]
        try:
            runs = runs_of(self._answers.known(name).repair)
        except PanelwrightError:
            return ()
        self._runs[name] = (head, runs)
        return runs
