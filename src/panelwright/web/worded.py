"""What rooms say of the repair file, said of the pages: where it is entered, in their words.

A room tells a person with a file which key to write. On a page nobody writes keys: the same
sentence names the page instead, and the place of a problem leads to the screen that mends it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

if TYPE_CHECKING:
    from panelwright.facts.problem import Problem
    from panelwright.facts.repair import Repair

_ON_PAGES: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), words)
    for pattern, words in (
        (
            r'If the vehicle stands level, say floor = "level" at that \[\[tool\]\]; else .*',
            "Say what the vehicle stands on: page Fit, Tools",
        ),
        (
            r'home is "before" but no reading with when = "before" reaches it; it has no home',
            "it belongs where it was before, but nothing of it was read before cutting",
        ),
        (
            r'home is "sister" but no reading .*; it has no home',
            "it belongs where it is on a sister vehicle, but nothing of it is known there",
        ),
        (
            r'home is "xyz" but xyz is left out; it has no home',
            "it belongs where a dimension sheet says, but no coordinates are entered",
        ),
        (r"[;:,]? add \[\[adhesive\]\] with its time rows", ": enter it on the page Bond"),
        (r"declare it as \[\[adhesive\]\]", "enter it on the page Bond"),
        (r"Give \[\[adhesive\.time\]\] event = \w+\.", "The page Bond takes its data sheet."),
        (r"the sheet has no \[\[adhesive\.time\]\] row; give", "no time is entered; give"),
        (
            r"Give each old pad a \[\[pad\]\]: part, and outline in mm traced before it goes\.",
            "Trace each old pad before it goes, and add it on the page Quiet.",
        ),
        (r"give \[\[rivet\]\], or ask", "add the rivet on the page Joints, or ask"),
        (r"declare one that does as \[\[rivet\]\], or", "add one that does on the page Joints, or"),
        (r"is no \[\[rivet\]\] of this file", "is no rivet that is entered"),
        (r"declare it with diameter,", "add it on the page Joints with diameter,"),
        (r"no rivet of this file", "no rivet that is entered"),
        (r"no adhesive of the file is meant", "no adhesive is entered for it"),
        (r"is not in the file", "is not entered"),
        (r" Add \[\[joint\]\] with [^.]*\.", " Add it on the page Joints."),
        (r" Give each flange as \[\[joint\]\].*", " Add each flange on the page Joints."),
        (
            r'as a \[\[part\]\] with thickness = "[^"]*" and name it here',
            "as a part on the page Findings",
        ),
        (r"declare it as \[\[part\]\]", "add it on the page Findings"),
        (
            r"no material is given; it should be one of the table's \(.*?\); the strength .*",
            "no material is given: until alloy and temper are, its joints' strength is left out",
        ),
        (r'give shear = "[^"]*" and material', "enter shear strength and material"),
        (r'(?: and give|, such as) \w+ = (?:"[^"]*"|\{[^}]*\}|\[[^]]*\])', ""),
        (r"\[\[?(\w+)\]?\]", r"\1"),
        (r'; give \w+ = (?:"[^"]*"|\{[^}]*\}|\[[^]]*\])', "; enter it"),
    )
)
_WITHOUT = "The plan is made without it."
"""Of a question that has no answer yet: why stands on the first page, with the way to its page."""
_INDEXED = re.compile(r"(part|joint)\[(\d+)\](?:\..*)?")
_NAMED = re.compile(r"(part|joint) (.+)")
_PAGES = {
    "fit": ("Fit", "fit"),
    "bond": ("Bond", "bond"),
    "quiet": ("Quiet", "quiet"),
    "joints": ("Joints", "joints"),
    "teardown": ("Findings", "findings"),
    "conditions": ("Air and panel", "bond"),
    "shop": ("Shop", "shop"),
    "vehicle": ("Vehicle", "shop"),
    "procedure": ("Procedure", "findings"),
}
"""By the first word of a place: what it is called, and its page."""


@dataclass(frozen=True)
class Doubt:
    """What is not clear at one place: its name, the screen that mends it, the sentences.

    Attributes
    ----------
    href : str
        Empty where no page mends it.
    """

    label: str
    href: str
    words: tuple[str, ...]


def on_pages(words: str) -> str:
    """Give a sentence of a room in words for somebody who uses the pages.

    Examples
    --------
    >>> on_pages('it has no length: measure it and give length = "760 mm"')
    'it has no length: measure it'
    """
    for pattern, said in _ON_PAGES:
        words = pattern.sub(said, words)
    return words


def reasons(repair: Repair, why: Iterable[str]) -> tuple[str, ...]:
    """Give reasons in words for the pages; what several joints share is said once for all."""
    of: dict[str, list[str]] = {}
    for words in why:
        name, _, rest = words.partition(": ")
        joint = repair.joint_by_id.get(name.removeprefix("joint "))
        alone = joint is None or not rest
        of.setdefault(words if alone else rest, []).append("" if joint is None else joint.label)
    return tuple(
        on_pages(_of_joints(labels, rest) if labels[0] else rest) for rest, labels in of.items()
    )


def _of_joints(labels: Sequence[str], rest: str) -> str:
    """Say what is so of one joint or of several."""
    if len(labels) == 1:
        return f"{labels[0]}: {rest}"
    told = rest.replace("this joint", f"these {len(labels)} joints")
    return f"{told[:1].upper()}{told[1:]} ({', '.join(labels)})"


def doubts(repair: Repair, problems: Sequence[Problem], path: str) -> tuple[Doubt, ...]:
    """Give the problems of a room by place, each place once.

    Parameters
    ----------
    repair : Repair
    problems : sequence of Problem
    path : str
        Address of the repair.
    """
    found: dict[tuple[str, str], dict[str, None]] = {}
    for problem in problems:
        label, href = _place(repair, problem.where, path)
        whole = problem.what
        if whole.endswith(_WITHOUT):
            whole = f"Not answered yet. {_WITHOUT}"
        whole = whole.replace(repr(label), "it").removeprefix("it: ")
        said = reasons(repair, [whole])[0]
        found.setdefault((label, href), {})[f"{said[:1].upper()}{said[1:]}"] = None
    return tuple(Doubt(label, href, tuple(words)) for (label, href), words in found.items())


def _place(repair: Repair, where: str, path: str) -> tuple[str, str]:
    """Give name and address of the place that a problem names."""
    if indexed := _INDEXED.fullmatch(where):
        among = repair.parts if indexed[1] == "part" else repair.joints
        number = int(indexed[2])
        if number < len(among):
            return _own(path, indexed[1], among[number].id, among[number].label)
    if named := _NAMED.fullmatch(where):
        one = (repair.part_by_id if named[1] == "part" else repair.joint_by_id).get(named[2])
        if one is not None:
            return _own(path, named[1], one.id, one.label)
    if where.startswith("step "):
        return "A step", f"{path}/plan"
    page = _PAGES.get(where.partition(".")[0])
    return (where, "") if page is None else (page[0], f"{path}/{page[1]}")


def _own(path: str, screen: str, identity: str, label: str) -> tuple[str, str]:
    return label, f"{path}/{screen}?id={quote(identity, safe='')}"
