"""The teardown page: what comes off, in which order, and where to look."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.cli.text import bullet, bullets, heading, wrap
from panelwright.cli.text import page as laid_out
from panelwright.quantities import show_length
from panelwright.sources import marks
from panelwright.teardown.answer import Action

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.quantities import Units
    from panelwright.teardown.answer import Answer, Carried, Removal, Separation, Stretch

_ACTION = {
    Action.REPLACE: "off for good, a new one goes on",
    Action.SECTION: "only the marked section comes off",
    Action.REFIT: "off and kept, it goes back on",
}


def _instruction(answer: Answer) -> str:
    if not answer.removals:
        looking = next((look for look in answer.look if look.asked), None)
        return looking.words if looking else "Nothing has to come off: repair it in place."
    names = {removal.part: removal.name for removal in answer.removals}
    start = names[answer.order[0]]
    rest = [names[name] for name in answer.order[1:]]
    words = f"Make the vehicle safe, then take off {start} first"
    if rest:
        words += f", then {', then '.join(rest)}"
    return words + "."


def _stretch(stretch: Stretch, units: Units) -> str:
    start = "its start" if stretch.from_mm is None else show_length(stretch.from_mm, units)
    end = "its end" if stretch.to_mm is None else show_length(stretch.to_mm, units)
    return f"from {start} to {end}"


def _joint(joint: Separation, said: Sequence[Separation], units: Units) -> str:
    """How a joint is opened; what was said for an earlier joint of this part is not repeated."""
    earlier = {words: other.joint for other in reversed(said) for words in other.how}
    how = [words for words in joint.how if words not in earlier]
    as_at = dict.fromkeys(earlier[words] for words in joint.how if words in earlier)
    warned = {words for other in said for words in other.cautions}
    cautions = [words for words in joint.cautions if words not in warned]
    where = " and ".join(_stretch(stretch, units) for stretch in joint.stretches)
    if as_at:
        how.append(f"{'Otherwise as' if how else 'As'} at {' and '.join(as_at)}, cautions too.")
    return laid_out(
        bullet(f"Open {joint.joint} ({joint.kind}){f', {where} only' if where else ''}:", indent=3),
        bullets(how, mark="-", indent=5),
        bullets(cautions, mark="!", indent=5),
    ).rstrip("\n")


def _care(care: Carried) -> str:
    return bullet(f"{care.what}: {care.make_safe} {care.move}", indent=3)


def _removal(number: int, removal: Removal, answer: Answer, units: Units) -> str:
    joints = [joint for joint in answer.separations if joint.joint in removal.opens]
    looks = [look for look in answer.look if look.after == removal.part]
    because = removal.why[1:] if removal.action is Action.REFIT else ()
    found = [f"{look.part}, found: {words}" for look in looks for words in look.found]
    return laid_out(
        f"{number}. {removal.name} – {_ACTION[removal.action]}",
        wrap(f"Why: {'; '.join((removal.why[0], *because))}.", indent=3),
        bullets(removal.cautions, mark="!", indent=3),
        "\n".join(_care(care) for care in answer.carried if care.part == removal.part),
        "\n".join(_joint(joint, joints[:k], units) for k, joint in enumerate(joints)),
        bullets((look.words for look in looks), mark="→", indent=3),
        bullets(found, mark="→", indent=3),
    ).rstrip("\n")


def _now(answer: Answer) -> tuple[str, ...]:
    return tuple(look.words for look in answer.look if look.after is None)


def _staying(answer: Answer) -> tuple[str, ...]:
    off = frozenset(answer.order)
    cares = (care for care in answer.carried if care.part not in off)
    return tuple(f"{care.part}, {care.what}: {care.make_safe} {care.move}" for care in cares)


def _owed(answer: Answer) -> tuple[str, ...]:
    return tuple(f"{care.part}, {care.what}: {care.afterwards}" for care in answer.carried)


def _section(title: str, texts: tuple[str, ...], mark: str = "•") -> str:
    return laid_out(heading(title).lstrip("\n"), bullets(texts, mark=mark)) if texts else ""


def page(answer: Answer, units: Units) -> str:
    """Write the teardown as a page.

    Parameters
    ----------
    answer : Answer
        What must come off.
    units : Units
        In which lengths are shown.

    Returns
    -------
    str
        The first line says what to do first.
    """
    names = {removal.part: removal.name for removal in answer.removals}
    refit = tuple(names[name] for name in answer.refit)
    order = [
        _removal(number, removal, answer, units)
        for number, removal in enumerate(answer.removals, start=1)
    ]
    problems = tuple(f"{problem.where}: {problem.what}" for problem in answer.problems)
    noted = marks(answer.sources)
    return "\n".join(
        block.rstrip("\n") + "\n"
        for block in (
            wrap(_instruction(answer)),
            _section("Before anything comes off", answer.first, "!"),
            _section("Look now", _now(answer), "→"),
            laid_out(heading("Take off, in this order").lstrip("\n"), *order) if order else "",
            _section("Stay on, worked on in place", _staying(answer)),
            _section("Stay on top", tuple(released.words for released in answer.released)),
            _section("Come off together", answer.together),
            _section("Keep, to go back on", refit),
            _section("Owed once the parts are on again", _owed(answer)),
            _section("Not clear from this file", problems, "?"),
            wrap(f"Marks: {'; '.join(noted)}. The maker's procedure replaces all of this."),
            _section("Sources", tuple(str(source) for source in answer.sources)),
        )
        if block
    )
