"""The quiet page: pads, what they do, and how they are cut and laid."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.cli.text import bullets, heading, table, wrap
from panelwright.cli.text import page as laid_out
from panelwright.quantities import show_area, show_length
from panelwright.sources import largest, marks

if TYPE_CHECKING:
    from panelwright.quantities import Units
    from panelwright.quiet.answer import Answer, Band, PartAnswer, Placement, Stock


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _instruction(answer: Answer) -> str:
    pads = _count(len(answer.pads), "pad")
    if answer.sheets is None:
        return f"Name the sheet that the {pads} come from; then warm them and roll them down."
    get = sum(stock.get or 0 for stock in answer.stocks)
    missing = f" ({get} still to get)" if get else ""
    cut = _count(len(answer.placements), "pad")
    sheets = _count(answer.sheets, "sheet")
    return f"Cut {cut} from {sheets}{missing}, warm them, roll them down where the old ones were."


def _band(band: Band | None) -> str:
    return "not known" if band is None else f"{band.likely:.3f} ({band.low:.3f} to {band.high:.3f})"


def _part_rows(part: PartAnswer, units: Units) -> tuple[str, ...]:
    return (
        part.part,
        show_area(part.pad_area_m2, units),
        "not known" if part.pad_mass_kg is None else f"{part.pad_mass_kg:.2f} kg",
        "not known" if part.coverage is None else f"{part.coverage * 100:.0f} %",
        _band(part.loss_bare),
        _band(part.loss_with),
    )


def _parts(answer: Answer, units: Units) -> str:
    header = ("panel", "pads", "mass", "covered", "loss factor bare", "loss factor with pads")
    rows = [_part_rows(part, units) for part in answer.parts]
    words = [f"{part.part}: {part.words}" for part in answer.parts]
    return laid_out(
        heading("Will it drum?").lstrip("\n"),
        bullets(words),
        "",
        table(header, rows, align="<>>>"),
    )


def _stock_row(stock: Stock, units: Units) -> tuple[str, ...]:
    size = "not known"
    if stock.sheet_mm is not None:
        size = " × ".join(show_length(side, units) for side in stock.sheet_mm)
    counts = (stock.need, stock.at_least, stock.on_hand, stock.get)
    return (size, *("–" if count is None else str(count) for count in counts), stock.stock)


def _stocks(answer: Answer, units: Units) -> str:
    header = ("sheet", "needed", "never fewer", "on hand", "to get", "stock")
    rows = [_stock_row(stock, units) for stock in answer.stocks]
    return laid_out(heading("Sheets").lstrip("\n"), table(header, rows, align="<>>>>"))


def _placement_row(put: Placement, units: Units) -> tuple[str, ...]:
    turned = "a quarter turn" if put.turned else "as traced"
    return (
        str(put.sheet),
        put.pad,
        show_length(put.x_mm, units),
        show_length(put.y_mm, units),
        turned,
    )


def _placements(answer: Answer, units: Units) -> str:
    if not answer.placements:
        return ""
    header = ("sheet", "pad", "from left", "from below", "how it lies")
    rows = [_placement_row(put, units) for put in sorted(answer.placements, key=_by_sheet)]
    return laid_out(
        heading("Where to cut").lstrip("\n"), table(header, rows, align=">") if rows else ""
    )


def _by_sheet(put: Placement) -> tuple[int, float, float]:
    return (put.sheet, put.y_mm, put.x_mm)


def _spread(answer: Answer) -> tuple[str, ...]:
    return tuple(
        f"{part.part}: spread of the loss factor with pads mostly from {name} ({share * 100:.0f} %)"
        for part in answer.parts
        for name, share in largest(part.shares, 1)
    )


def _section(title: str, texts: tuple[str, ...], mark: str = "•") -> str:
    return laid_out(heading(title).lstrip("\n"), bullets(texts, mark=mark)) if texts else ""


def page(answer: Answer, units: Units) -> str:
    """Write the pads as a page.

    Parameters
    ----------
    answer : Answer
        Pads, sheets and what they do.
    units : Units
        In which lengths and areas are shown.

    Returns
    -------
    str
        The first line says what to do.
    """
    problems = tuple(f"{problem.where}: {problem.what}" for problem in answer.problems)
    noted = marks(answer.sources)
    return "\n".join(
        block.rstrip("\n") + "\n"
        for block in (
            wrap(_instruction(answer)),
            _parts(answer, units),
            _stocks(answer, units),
            _placements(answer, units),
            _section("How", answer.how),
            _section("Mind", answer.cautions, "!"),
            _section("Not clear from this file", problems, "?"),
            _section("Why", _spread(answer)),
            wrap(
                f"Marks: {'; '.join(noted)}. Loss factors are estimates from a flat plate; no "
                "frequency is given, for a formed panel does not ring at a flat plate's."
            ),
            _section("Sources", tuple(str(source) for source in answer.sources)),
        )
        if block
    )
