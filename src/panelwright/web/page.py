"""A page in the list of pages: each module of `web/pages` brings one."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from pkgutil import iter_modules

from fastapi import APIRouter


@dataclass(frozen=True)
class Page:
    """A page and its routes.

    Attributes
    ----------
    key : str
        Its last path segment under ``/repairs/{name}/``, empty for the repair's first page.
    title : str
        Its word in the menu; empty: not in a repair's menu.
    order : int
        Place in the menu.
    router : APIRouter
    """

    key: str
    title: str
    order: int
    router: APIRouter

    def path(self, repair: str) -> str:
        """Give the address of the page for a repair."""
        return f"/repairs/{repair}/{self.key}" if self.key else f"/repairs/{repair}"


def all_pages() -> tuple[Page, ...]:
    """Give the `PAGE` of every module in `web/pages`, in the order of the menu."""
    package = import_module("panelwright.web.pages")
    found = [
        import_module(f"panelwright.web.pages.{module.name}").PAGE
        for module in iter_modules(package.__path__)
    ]
    return tuple(sorted(found, key=lambda page: (page.order, page.title)))
