"""Drawings of the rooms within a page: SVG whose styles are attributes, and nothing that acts."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Collection

from markupsafe import Markup

SVG = "http://www.w3.org/2000/svg"
_DROPPED = frozenset({"script", "style", "foreignObject", "animate", "set", "a"})

ET.register_namespace("", SVG)


def inline(svg: str, title: str = "", marked: Collection[str] = ()) -> Markup:
    """Give a drawing as part of a page.

    Inline styles would break the content security policy, so each becomes an attribute.

    Parameters
    ----------
    svg : str
        As a room or the record draws it.
    title : str
        What it shows, for who cannot see it.
    marked : collection of str
        Points that are chosen: they stand out.
    """
    root = ET.fromstring(svg)  # noqa: S314 - see above
    _cleaned(root)
    root.attrib.pop("width", None)
    root.attrib.pop("height", None)
    root.set("role", "img")
    for group in root.iter(f"{{{SVG}}}g"):
        if group.get("data-spot") in marked:
            group.set("class", "chosen")
    if title:
        root.set("aria-label", title)
    return Markup(ET.tostring(root, encoding="unicode"))  # noqa: S704 - cleaned above


def _cleaned(element: ET.Element) -> None:
    for child in list(element):
        if child.tag.rpartition("}")[2] in _DROPPED:
            element.remove(child)
        else:
            _cleaned(child)
    for name in [n for n in element.attrib if n.startswith("on") or n.endswith("href")]:
        if not element.attrib[name].startswith("#"):
            del element.attrib[name]
    for name in [n for n in element.attrib if n == "role" or n.startswith("aria-")]:
        del element.attrib[name]  # the drawing as a whole is the picture, and has a name
    style = element.attrib.pop("style", "")
    for rule in style.split(";"):
        name, _, value = rule.partition(":")
        if value:
            element.set(name.strip(), value.strip())
