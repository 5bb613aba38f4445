"""What the pages Joints and Joint show: plain values for their templates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from panelwright.joints.answer_parts import LayoutStatus, Origin, Weight
from panelwright.quantities import Units, show_force, show_length, show_length_with_u, show_volume
from panelwright.record import Unanswered
from panelwright.web.shown import Sign, percent

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.facts.models.parts import Joint
    from panelwright.joints.answer import JointAnswer, JointsAnswer
    from panelwright.joints.answer_parts import Check, Strength
    from panelwright.teardown.answer import Answer as TeardownAnswer
    from panelwright.web.answers import Known

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


@dataclass(frozen=True)
class Held:
    """A check that is not kept, or not judged."""

    sign: Sign
    word: str
    what: str
    figure: str
    limit: str
    note: str
    source: str


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


def measures(joint: JointAnswer, units: Units) -> tuple[tuple[str, str], ...]:
    """Give a joint's figures: name and value."""
    found: list[tuple[str, str]] = []
    if joint.adhesive is not None:
        high = show_length(joint.adhesive.bead.triangle_mm, units)
        found.append(("Bead in a triangle", f"{high} high"))
        found.append(("Adhesive in all", millilitres(joint.adhesive.total_ml, units)))
        found.append(("Bond line", show_length(joint.adhesive.bond_line_mm, units)))
    if joint.edge_mm is not None:
        found.append(("Rivet to the flange’s edge", show_length(joint.edge_mm, units)))
    low, high_mm = joint.pitch_mm.min, joint.pitch_mm.max
    if low is not None and high_mm is not None:
        first, last = show_length(low, units), show_length(high_mm, units)
        found.append(("Rivet to rivet", first if first == last else f"{first} to {last}"))
    if joint.stack_mm is not None and joint.stack_u_mm is not None:
        stack = show_length_with_u(joint.stack_mm, joint.stack_u_mm, units)
        found.append(("Stack, adhesive counted", stack))
    return tuple(found)


def strength(joint: JointAnswer, units: Units) -> tuple[str, ...]:
    """Say what rivets, old fasteners and bond could carry."""
    return tuple(_strength(joint.strength, units))


def _strength(of: Strength, units: Units) -> list[str]:
    def kilonewtons(value: float) -> str:
        return show_force(1000.0 * value, units)

    said = []
    if of.new_kN is not None:
        said.append(f"The rivets alone carry {kilonewtons(of.new_kN)}, governed by {of.governs}.")
    if of.old_kN is not None:
        said.append(f"The old fasteners carried {kilonewtons(of.old_kN)}.")
    if of.ratio is not None:
        said.append(f"New, with partial factors, against old: {percent(of.ratio)}.")
    if of.old_estimate_kN is not None:
        low, high = (kilonewtons(end) for end in (of.old_estimate_kN.low, of.old_estimate_kN.high))
        said.append(f"The old sheets could bear about {low} to {high}.")
    if of.bond_kN is not None:
        said.append(
            f"The bond at full cure, by area and data sheet: {kilonewtons(of.bond_kN)}; it stands "
            "beside the rivets and is never added to them."
        )
    return [*said, *of.notes]


def held(joint: JointAnswer, units: Units) -> tuple[Held, ...]:
    """Give the checks that are not kept or not judged, binding ones first."""
    wrong = [
        check
        for check in joint.checks
        if check.ok is False or (check.ok is None and check.weight is Weight.LIMIT)
    ]
    ordered = sorted(wrong, key=lambda check: (check.ok is None, check.weight is not Weight.LIMIT))
    return tuple(_held(check, units) for check in ordered)


def _held(check: Check, units: Units) -> Held:
    sign, word = Sign.BAD, "not kept"
    if check.ok is None:
        sign, word = Sign.ASK, "not judged"
    elif check.weight is not Weight.LIMIT:
        sign, word = Sign.UNSURE, str(check.weight)
    limit = f"{check.relation} {_figure(check.limit, check.unit, units)}"
    figure = _figure(check.value, check.unit, units)
    return Held(sign, word, check.what, figure, limit, check.note, check.source)


def _figure(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return "–"
    if unit == "mm":
        return show_length(value, units)
    if unit == "kN":
        return show_force(1000.0 * value, units)
    return f"{value:.2f} {unit}".strip() if value != int(value) else f"{value:g} {unit}".strip()


def origins(joint: JointAnswer) -> tuple[tuple[str, Sign, str], ...]:
    """Give on whose word each part of a joint stands."""
    parts = joint.origins
    told = (
        ("Rivet", parts.rivet),
        ("Number", parts.count),
        ("Places", parts.positions),
        ("Adhesive", parts.adhesive),
    )
    return tuple((name, *ORIGINS[origin]) for name, origin in told)
