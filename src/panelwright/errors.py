"""The errors a user can meet.

::

    PanelwrightError
    ├── QuantityError   a text that is no quantity: what was typed, what was expected
    ├── TableError      a table of our own that breaks its own rules
    ├── InvalidFile     a repair file with problems, all of them listed
    ├── Unanswerable    a question that this repair's facts cannot answer, in words
    └── StoreError      something about the store; what was acknowledged is never lost by it
        ├── StoreFullError      the disk has no room left
        ├── StoreBusyError      another program holds the database
        ├── StoreLostError      the database or its folder cannot be reached
        ├── StoreDamagedError   what is stored is not what was written
        ├── StoreVersionError   a newer version of the program made it
        ├── UnknownRepairError  no repair of that name is stored
        └── PhotoError          a file that cannot be taken as a photo

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


class InvalidFile(PanelwrightError):
    """A repair file that cannot be read, with every problem found in it."""

    def __init__(self, problems: Sequence[tuple[str, str]]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{where}: {what}" for where, what in self.problems))


class Unanswerable(PanelwrightError):
    """A question that cannot be answered from this repair, with what is missing."""

    def __init__(self, why: Sequence[str]) -> None:
        self.why = tuple(why)
        super().__init__(" ".join(self.why))


class StoreError(PanelwrightError):
    """Something about the store: a fact that was acknowledged is stored all the same."""


class StoreFullError(StoreError):
    """The disk has no room left; nothing was stored, what was stored before is intact."""


class StoreBusyError(StoreError):
    """Another program holds the database for longer than we wait."""


class StoreLostError(StoreError):
    """The database or its folder cannot be reached, or the connection to it broke."""


class StoreDamagedError(StoreError):
    """What is stored is not what was written."""


class StoreVersionError(StoreError):
    """A store that a newer version of the program made."""


class UnknownRepairError(StoreError):
    """No repair of that name is stored."""


class PhotoError(StoreError):
    """A file that cannot be taken as a photo: too large, no picture, or broken."""
