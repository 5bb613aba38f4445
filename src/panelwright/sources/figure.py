"""A number that can be asked where it came from."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.sources.share import Share
from panelwright.sources.source import Source, marks


@dataclass(frozen=True)
class Figure:
    """A value with unit, spread and every source it was derived from.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        As it is shown to people.
    sources : tuple of Source
        Every source that was used, strongest claim not implied by order.
    u : float or None
        Standard uncertainty in `unit`; None where none is stated.
    shares : tuple of Share
        What each input contributes to u².
    """

    value: float
    unit: str
    sources: tuple[Source, ...]
    u: float | None = None
    shares: tuple[Share, ...] = ()

    @property
    def marks(self) -> tuple[str, ...]:
        """Marks that must be shown beside the value."""
        return marks(self.sources)
