"""Public functions of the question rooms say what goes in, what comes out, and in which unit."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2] / "src" / "panelwright"
ROOMS = ("teardown", "joints", "fit", "bond", "quiet")
UNIT = re.compile(
    r"\[[^\]]+\]|_(mm|mm2|ml|kN|N|MPa|C|K|min|minutes|kg|m2|W|W_m2|mrad|s|m|Hz|hours)\b"
)


def public_functions() -> list[tuple[str, ast.FunctionDef]]:
    return [
        (f"{path.relative_to(ROOT)}:{node.name}", node)
        for room in ROOMS
        for path in sorted((ROOT / room).rglob("*.py"))
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]


FUNCTIONS = public_functions()


def parameters(node: ast.FunctionDef) -> list[ast.arg]:
    arguments = node.args
    return [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]


PURE = re.compile(
    r"factor|share|fraction|coverage|probability|confidence|ratio|loss|redundancy|_u$|bare|with_pads"
)
"""Names that stand for pure numbers."""


def is_number(annotation: ast.expr | None) -> bool:
    return annotation is not None and ast.unparse(annotation) in {"float", "FloatArray", "Array"}


@pytest.mark.parametrize(("place", "node"), FUNCTIONS, ids=[place for place, _ in FUNCTIONS])
def test_a_public_function_is_documented(place: str, node: ast.FunctionDef) -> None:
    text = ast.get_docstring(node) or ""
    assert text, f"{place} has no docstring"
    names = [argument.arg for argument in parameters(node)]
    if names:
        assert "Parameters\n---" in text, f"{place} does not describe {', '.join(names)}"
        section = text.split("Parameters\n---", 1)[1].split("\n---", 1)[0]
        undescribed = [name for name in names if not re.search(rf"\b{name}\b", section)]
        assert not undescribed, f"{place} does not describe {', '.join(undescribed)}"
    returns = ast.unparse(node.returns) if node.returns else "None"
    if returns not in {"None", "NoReturn"}:
        assert re.search(r"(Returns|Yields)\n---", text), f"{place} does not say what it returns"


@pytest.mark.parametrize(("place", "node"), FUNCTIONS, ids=[place for place, _ in FUNCTIONS])
def test_a_number_has_a_unit(place: str, node: ast.FunctionDef) -> None:
    text = ast.get_docstring(node) or ""
    for argument in parameters(node):
        if not is_number(argument.annotation) or PURE.search(argument.arg):
            continue
        entry = rf"^\s*[\w, ]*\b{argument.arg}\b.*?(?=^\S|^\s*\w[\w, ]* : |\Z)"
        described = re.search(entry, text, re.MULTILINE | re.DOTALL)
        words = (described.group(0) if described else "") + argument.arg
        assert UNIT.search(words) or "dimensionless" in words, (
            f"{place}: give the unit of {argument.arg} in square brackets ([–] for a pure number)"
        )
