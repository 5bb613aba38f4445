"""The errors a user can meet.

::

    PanelwrightError
    ├── QuantityError   a text that is no quantity: what was typed, what was expected
    ├── TableError      a table of our own that breaks its own rules
    ├── InvalidFile     a repair file with problems, all of them listed
    └── Unanswerable    a question that this repair's facts cannot answer, in words

The command line and the web turn them into exit codes and pages in one place each.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


class PanelwrightError(Exception):
    """Base of every error that is shown to a user as a sentence."""


class QuantityError(PanelwrightError, ValueError):
    """A text or number that cannot be read as the quantity asked for."""


class TableError(PanelwrightError):
    """A data table whose rows break its declared units, range or source."""


class InvalidFile(PanelwrightError):  # noqa: N818 - it is what it says, not an error of ours
    """A repair file that cannot be read, with every problem found in it."""

    def __init__(self, problems: Sequence[tuple[str, str]]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{where}: {what}" for where, what in self.problems))


class Unanswerable(PanelwrightError):  # noqa: N818 - likewise
    """A question that cannot be answered from this repair, with what is missing."""

    def __init__(self, why: Sequence[str]) -> None:
        self.why = tuple(why)
        super().__init__(" ".join(self.why))
