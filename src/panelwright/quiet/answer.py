"""Will it drum: the answer."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.facts.problem import Problem
from panelwright.sources import Share, Source


@dataclass(frozen=True)
class Band:
    """A number with the ends between which it is expected, no unit."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class PadAnswer:
    """One pad of a panel.

    Parameters
    ----------
    pad : str
        Its name, unique in the answer.
    part : str
        The panel it goes on.
    stock : str or None
        Which stock it is cut from; None where its sheet is not known.
    area_m2 : float
        Of the outline. [m²]
    mass_kg : float or None
        None where neither file nor data sheet gives a mass per area. [kg]
    outline_mm : tuple of (float, float)
        The outline as traced, without a repeated last point. [mm]
    """

    pad: str
    part: str
    stock: str | None
    area_m2: float
    mass_kg: float | None
    outline_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class PartAnswer:
    """One panel.

    Parameters
    ----------
    part : str
        Id of the part.
    pads : tuple of str
        The pads that go on it.
    pad_area_m2 : float
        Of all its pads. [m²]
    pad_mass_kg : float or None
        Of all its pads; None where one of them has no mass. [kg]
    coverage : float or None
        Padded share of the panel's area; None where the area is not given.
    loss_bare : Band or None
        Loss factor of the panel without pads, as mounted.
    loss_with : Band or None
        Loss factor with the pads; None where the file lacks what it takes.
    quieter_dB : Band or None
        By how much the panel's own ringing falls. [dB]
    words : str
        Whether it will drum, as far as can be said.
    missing : tuple of str
        What would answer what is None.
    shares : tuple of Share
        What `loss_with` owes its spread to.
    sources : tuple of Source
        All that were used.
    """

    part: str
    pads: tuple[str, ...]
    pad_area_m2: float
    pad_mass_kg: float | None
    coverage: float | None
    loss_bare: Band | None
    loss_with: Band | None
    quieter_dB: Band | None
    words: str
    missing: tuple[str, ...]
    shares: tuple[Share, ...]
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Placement:
    """Where a pad is cut from its sheet.

    Parameters
    ----------
    sheet : int
        Number of the sheet, from 1, counted over all kinds of stock.
    stock : str
        Which kind of stock the sheet is.
    pad : str
        Which pad.
    x_mm, y_mm : float
        Corner nearest the sheet's origin of the box around the pad. [mm]
    turned : bool
        Whether the pad is turned a quarter turn anticlockwise, adhesive side kept.
    outline_mm : tuple of (float, float)
        The outline as it lies on the sheet. [mm]
    """

    sheet: int
    stock: str
    pad: str
    x_mm: float
    y_mm: float
    turned: bool
    outline_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Stock:
    """One kind of pad sheet: what it takes and what is there.

    Parameters
    ----------
    stock : str
        Its name.
    sheet_mm : (float, float) or None
        Width and height of a sheet; None where not given. [mm]
    need : int or None
        Sheets that the layout uses; None where the sheet's size is not given.
    at_least : int or None
        No layout can do with fewer, by area.
    on_hand : int or None
        Sheets on the shelf.
    get : int or None
        Sheets still to get.
    pads : tuple of str
        The pads cut from it.
    """

    stock: str
    sheet_mm: tuple[float, float] | None
    need: int | None
    at_least: int | None
    on_hand: int | None
    get: int | None
    pads: tuple[str, ...]


@dataclass(frozen=True)
class Answer:
    """Pads, what they do, and how they come out of the sheet.

    Parameters
    ----------
    parts : tuple of PartAnswer
        One for each part with a pad, in the file's order.
    pads : tuple of PadAnswer
        One for each readable pad.
    sheets : int or None
        Sheets needed in all; None where no pad's sheet size is known.
    placements : tuple of Placement
        Where each pad is cut.
    stocks : tuple of Stock
        The same by kind of sheet.
    how : tuple of str
        How the pads are laid, in order.
    cautions : tuple of str
        What to mind.
    problems : tuple of Problem
        What could not be answered.
    sources : tuple of Source
        All that were used.
    """

    parts: tuple[PartAnswer, ...]
    pads: tuple[PadAnswer, ...]
    sheets: int | None
    placements: tuple[Placement, ...]
    stocks: tuple[Stock, ...]
    how: tuple[str, ...]
    cautions: tuple[str, ...]
    problems: tuple[Problem, ...]
    sources: tuple[Source, ...]
