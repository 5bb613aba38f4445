"""References and circles: what every check of a document needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from panelwright.facts.problem import Problem


def known(ids: Iterable[str], extra: Iterable[str] = ()) -> frozenset[str]:
    """Collect the names that may be referred to."""
    return frozenset(ids) | frozenset(extra)


def missing(where: str, value: str, known: frozenset[str], kind: str) -> Iterator[Problem]:
    """A problem where a name refers to nothing."""
    if value not in known:
        there = ", ".join(sorted(known)[:8]) or "none"
        yield Problem(where, f"{value!r} is no {kind} of this file (there are: {there})")


def cycles(edges: dict[str, list[str]], table: str, key: str) -> Iterator[Problem]:
    """Name one cycle for each knot of the graph, in the file's order."""
    done: set[str] = set()
    for start in edges:
        path: list[str] = []
        stack = [(start, iter(edges.get(start, ())))]
        on_path = {start}
        path.append(start)
        if start in done:
            continue
        while stack:
            node, children = stack[-1]
            child = next(children, None)
            if child is None:
                done.add(node)
                on_path.discard(node)
                stack.pop()
                path.pop()
            elif child in on_path:
                ring = [*path[path.index(child) :], child]
                yield Problem(f"{table}.{key}", f"goes in a circle: {f' {key} '.join(ring)}")
                done.update(path)
                break
            elif child not in done:
                on_path.add(child)
                path.append(child)
                stack.append((child, iter(edges.get(child, ()))))
