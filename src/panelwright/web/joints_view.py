"""What the pages Joints and Joint show: plain values for their templates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.joints.answer_parts import LayoutStatus, Origin, Weight
from panelwright.quantities import Units, show_length, show_volume
from panelwright.record import Unanswered
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.facts.models.parts import Joint
    from panelwright.joints.answer import JointAnswer, JointsAnswer
    from panelwright.teardown.answer import Answer as TeardownAnswer
    from panelwright.web.known import Known

ORIGINS: Mapping[Origin, tuple[Sign, str]] = {
    Origin.PROCEDURE: (Sign.GOOD, "by the procedure"),
    Origin.PROPOSAL: (Sign.UNSURE, "proposal"),
    Origin.ASK: (Sign.ASK, "ask the maker"),
    Origin.MISSING: (Sign.ASK, "not known"),
    Origin.NONE: (Sign.GOOD, "not needed"),
}
KINDS = (
    ("rivet-bond", "rivets and adhesive"),
    ("bond", "adhesive only"),
    ("bolt", "bolts"),
    ("weld", "weld"),
    ("hem", "hem"),
    ("sleeve", "sleeve"),
)
DRILLED, SET = "drilled", "set"


@dataclass(frozen=True)
class Counted:
    """How far one thing of a joint is counted.

    Attributes
    ----------
    kind : str
        ``drilled`` or ``set``.
    done : int
    of : int
        As many as the joint takes.
    last : str
        Id of the fact that undo takes back; empty where there is none.
    """

    kind: str
    done: int
    of: int
    last: str

    @property
    def title(self) -> str:
        """Give what is counted."""
        return "Holes drilled" if self.kind == DRILLED else "Rivets set"

    @property
    def state(self) -> tuple[Sign, str]:
        """Give sign and word."""
        if self.done > self.of:
            return Sign.BAD, f"{self.done - self.of} more than the joint takes"
        if self.done == self.of:
            return Sign.DONE, "all"
        return Sign.WAIT, f"{self.of - self.done} to go"


@dataclass(frozen=True)
class Row:
    """A joint of the list."""

    number: int
    label: str
    words: str
    sign: Sign
    word: str
    broken: int
    progress: str
    href: str
    assumed: bool


def href(known: Known, joint: str) -> str:
    """Give the address of a joint's own screen."""
    return f"/repairs/{known.name}/joint?id={quote(joint, safe='')}"


def joint_of(answer: JointsAnswer | Unanswered, joint: str) -> JointAnswer | None:
    """Give what the room says of a joint."""
    if isinstance(answer, Unanswered):
        return None
    return next((one for one in answer.joints if one.id == joint), None)


def words_of(joint: JointAnswer, units: Units) -> str:
    """Say what a joint takes, in one line."""
    if joint.from_ is Origin.ASK:
        return "Ask the maker: the joint is structural and the procedure is silent."
    said = []
    if joint.rivet is not None and joint.count:
        said.append(f"{joint.count} × {joint.rivet.name}")
    elif joint.origins.rivet is not Origin.NONE:
        said.append("rivet and number not known yet")
    if joint.adhesive_ml is not None:
        name = joint.adhesive.adhesive if joint.adhesive is not None else ""
        said.append(f"{millilitres(joint.adhesive_ml, units)} of {name or 'adhesive'}")
    return "; ".join(said) or "Nothing can be said yet."


def millilitres(ml: float, units: Units) -> str:
    """Say a joint's few millilitres, to a tenth."""
    return f"{ml:.1f} ml" if units is Units.MM else show_volume(ml, units)


def rows(
    known: Known, answer: JointsAnswer | Unanswered, off: TeardownAnswer | Unanswered, units: Units
) -> tuple[tuple[Row, ...], tuple[Row, ...]]:
    """Give the joints that are opened, and those that stay closed."""
    opened = set() if isinstance(off, Unanswered) else set(off.open)
    assumed = set(known.repair.assumed.ids("joint"))
    found: tuple[list[Row], list[Row]] = ([], [])
    for number, joint in enumerate(known.repair.joints):
        said = joint_of(answer, joint.id)
        row = _row(known, number, joint, said, units, assumed=joint.id in assumed)
        found[0 if joint.id in opened else 1].append(row)
    return tuple(found[0]), tuple(found[1])


def _row(
    known: Known,
    number: int,
    joint: Joint,
    said: JointAnswer | None,
    units: Units,
    *,
    assumed: bool,
) -> Row:
    kind = dict(KINDS)[joint.kind]
    sign, word = ORIGINS[said.from_] if said else (Sign.WAIT, "by the procedure alone")
    words = words_of(said, units) if said else f"{kind[:1].upper()}{kind[1:]}: by the procedure."
    broken = [c for c in said.checks if c.ok is False and c.weight is Weight.LIMIT] if said else []
    progress = "; ".join(
        f"{one.title.lower()} {one.done} of {one.of}"
        for one in counted(known, joint.id, said)
        if one.done
    )
    address = href(known, joint.id)
    return Row(number, joint.label, words, sign, word, len(broken), progress, address, assumed)


def counted(known: Known, joint: str, said: JointAnswer | None) -> tuple[Counted, ...]:
    """Give how far holes and rivets of a joint are counted; empty where it takes none."""
    if said is None or not said.count or said.from_ is Origin.ASK:
        return ()
    found = []
    for kind in (DRILLED, SET):
        facts = counts(known, joint, kind)
        total = sum(number_of(fact) for fact in facts)
        last = str(facts[-1].id) if facts else ""
        found.append(Counted(kind, total, said.count, last))
    return tuple(found)


def counts(known: Known, joint: str, kind: str) -> tuple[Fact, ...]:
    """Give the facts that count something of a joint, in the order of the log."""
    return tuple(
        fact
        for fact in known.folded.facts
        if fact.kind == "event"
        and fact.body.get("kind") == kind
        and fact.body.get("joint") == joint
        and number_of(fact)
    )


def number_of(fact: Fact) -> int:
    """Give how many more a fact counts."""
    count = fact.body.get("count")
    return count if isinstance(count, int) else 0


def places(joint: JointAnswer, units: Units) -> tuple[str, ...]:
    """Give the rivets' places from the joint's start, without the unit."""
    return tuple(bare(at, units) for at in joint.at_mm)


def bare(mm: float, units: Units) -> str:
    """Give a length without its unit, and without a zero behind the point."""
    return show_length(mm, units).partition(" ")[0].removesuffix(".0")


def nothing_placed(joint: JointAnswer) -> str:
    """Say why no places are shown."""
    if joint.at_mm or joint.from_ is Origin.ASK:
        return ""
    if joint.layout is LayoutStatus.INFEASIBLE:
        return "No layout keeps all the rules: see what is not kept."
    return "Where they go is for the maker to say." if joint.origins.positions is Origin.ASK else ""


def upper(words: str) -> str:
    """Give words that begin a sentence."""
    return f"{words[:1].upper()}{words[1:]}"


def instruction(joint: JointAnswer | None, label: str, units: Units) -> tuple[str, str, str]:
    """Say what to do at a joint: instruction, reason, and "bad" where it must not be done yet."""
    if joint is None:
        why = "Nothing is computed for this kind of joint."
        return f"{upper(label)}: follow the procedure.", why, ""
    if joint.from_ is Origin.ASK:
        why = "The joint is structural and the procedure is silent: nothing is proposed."
        return f"{upper(label)}: ask the maker.", why, "bad"
    said = []
    if joint.rivet is not None and joint.count:
        if joint.rivet.hole_mm:
            hole = show_length(joint.rivet.hole_mm, units)
            said.append(f"drill {joint.count} holes of {hole}, deburr both sides")
        said.append(f"set {joint.count} × {joint.rivet.name}")
    if joint.adhesive is not None:
        bead = show_length(joint.adhesive.bead.round_mm, units)
        said.append(f"bead {bead} round of {joint.adhesive.adhesive or 'adhesive'}")
    words = "; ".join(said)
    if not words:
        return f"{upper(label)}: nothing can be said yet.", "What is missing stands below.", ""
    return f"{upper(label)}: {words}.", "", ""
