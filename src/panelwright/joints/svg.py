"""Marks of a drawing as SVG elements, one user unit a millimetre."""

from __future__ import annotations

from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

FONT = "Noto Sans"
INK, PALE, NEW = "#1a1a1a", "#8a8a8a", "#0b4f8a"


def figure(size_mm: float) -> str:
    """A coordinate to a thousandth of a millimetre, the same text for the same value.

    Parameters
    ----------
    size_mm : float
        [mm].

    Returns
    -------
    str
    """
    text = f"{size_mm:.3f}".rstrip("0").rstrip(".")
    return "0" if text in {"", "-0"} else text


@dataclass(frozen=True)
class Pen:
    """How a line is drawn: width [mm], colour, dashes [mm]."""

    width_mm: float = 0.2
    colour: str = INK
    dash: str = ""

    @property
    def attributes(self) -> str:
        """The pen as SVG attributes."""
        dash = f' stroke-dasharray="{self.dash}"' if self.dash else ""
        return f'stroke="{self.colour}" stroke-width="{figure(self.width_mm)}"{dash}'


def line(start: tuple[float, float], end: tuple[float, float], pen: Pen) -> str:
    """A straight line.

    Parameters
    ----------
    start, end : tuple of (float, float)
        [mm].
    pen : Pen

    Returns
    -------
    str
    """
    (x1, y1), (x2, y2) = start, end
    return (
        f'<line x1="{figure(x1)}" y1="{figure(y1)}" x2="{figure(x2)}" y2="{figure(y2)}" '
        f"{pen.attributes}/>"
    )


def circle(centre: tuple[float, float], diameter: float, pen: Pen, fill: str = "none") -> str:
    """A circle, hollow unless a fill is given.

    Parameters
    ----------
    centre : tuple of (float, float)
        [mm].
    diameter : float
        > 0 [mm].
    pen : Pen
    fill : str
        Colour.

    Returns
    -------
    str
    """
    x, y = centre
    return (
        f'<circle cx="{figure(x)}" cy="{figure(y)}" r="{figure(diameter / 2.0)}" fill="{fill}" '
        f"{pen.attributes}/>"
    )


def rectangle(corner: tuple[float, float], size: tuple[float, float], pen: Pen) -> str:
    """A rectangle that is not filled.

    Parameters
    ----------
    corner, size : tuple of (float, float)
        Upper left corner; width and height [mm].
    pen : Pen

    Returns
    -------
    str
    """
    (x, y), (w, h) = corner, size
    return (
        f'<rect x="{figure(x)}" y="{figure(y)}" width="{figure(w)}" height="{figure(h)}" '
        f'fill="none" {pen.attributes}/>'
    )


@dataclass(frozen=True)
class Letters:
    """How a text stands: font size [mm], anchor (start, middle, end), colour, upright or turned."""

    size_mm: float = 2.6
    anchor: str = "start"
    colour: str = INK
    turned: bool = False


def text(at: tuple[float, float], words: str, letters: Letters) -> str:
    """Real text.

    Parameters
    ----------
    at : tuple of (float, float)
        Foot of the text at its anchor [mm].
    words : str
    letters : Letters

    Returns
    -------
    str
    """
    x, y = at
    turn = f' transform="rotate(-90 {figure(x)} {figure(y)})"' if letters.turned else ""
    return (
        f'<text x="{figure(x)}" y="{figure(y)}" font-family={quoteattr(FONT)} '
        f'font-size="{figure(letters.size_mm)}" text-anchor="{letters.anchor}" '
        f'fill="{letters.colour}"{turn}>{escape(words)}</text>'
    )


def hatching(corner: tuple[float, float], size: tuple[float, float], step: float) -> list[str]:
    """Lines at 45° within a rectangle.

    Parameters
    ----------
    corner, size : tuple of (float, float)
        Upper left corner; width and height [mm].
    step : float
        From line to line along an edge, > 0 [mm].

    Returns
    -------
    list of str
    """
    (x, y), (w, h) = corner, size
    pen = Pen(0.15, PALE)
    lines = []
    count = int((w + h) / step)
    for number in range(1, count + 1):
        reach = number * step
        start = (x + max(reach - h, 0.0), y + min(reach, h))
        end = (x + min(reach, w), y + max(reach - w, 0.0))
        lines.append(line(start, end, pen))
    return lines


def document(size: tuple[float, float], title: str, marks: list[str]) -> str:
    """The whole drawing; printed at 100 % one user unit is a millimetre.

    Parameters
    ----------
    size : tuple of (float, float)
        Width and height [mm].
    title : str
    marks : list of str

    Returns
    -------
    str
    """
    w, h = figure(size[0]), figure(size[1])
    size_words = f'width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}"'
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" {size_words}>',
            f"<title>{escape(title)}</title>",
            f'<rect x="0" y="0" width="{w}" height="{h}" fill="#ffffff"/>',
            *marks,
            "</svg>\n",
        ]
    )
