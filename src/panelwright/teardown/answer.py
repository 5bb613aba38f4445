"""What must come off, and what may hide behind it: the answer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panelwright.facts.problem import Problem
from panelwright.sources import Source


class Action(StrEnum):
    """How a part comes off."""

    REPLACE = "replace"
    SECTION = "section"
    REFIT = "remove-and-refit"


@dataclass(frozen=True)
class Stretch:
    """A stretch of a joint, from its start.

    Parameters
    ----------
    from_mm, to_mm : float or None
        Along the joint; None where the stretch reaches the joint's own end. [mm]
    """

    from_mm: float | None = None
    to_mm: float | None = None


@dataclass(frozen=True)
class Separation:
    """One joint to open, and how.

    Parameters
    ----------
    joint : str
        Id of the joint.
    kind : str
        rivet-bond, bond, bolt, weld, hem or sleeve.
    stretches : tuple of Stretch
        What is opened; empty means the whole length.
    frees : tuple of str
        Parts that come off and are held by this joint, in the order they come off.
    stays : tuple of str
        Layers whose flange is kept and must stay straight.
    how : tuple of str
        What to do, in order.
    cautions : tuple of str
        Where a hand or the car can be hurt at this joint.
    sources : tuple of Source
        On whose word.
    """

    joint: str
    kind: str
    stretches: tuple[Stretch, ...]
    frees: tuple[str, ...]
    stays: tuple[str, ...]
    how: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Removal:
    """One part as it comes off.

    Parameters
    ----------
    part : str
        Id of the part.
    name : str
        As people call it.
    action : Action
        Whether it is replaced, sectioned or kept for refitting.
    opens : tuple of str
        Joints that are opened at this step (those opened earlier are not repeated).
    why : tuple of str
        The chain of reasons, from this part to the damage.
    cautions : tuple of str
        What to mind at this step.
    """

    part: str
    name: str
    action: Action
    opens: tuple[str, ...]
    why: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Look:
    """A part to inspect once it can be seen.

    Parameters
    ----------
    part : str
        What to look at.
    after : str or None
        The part whose removal brings it into view; None where it can be looked at now.
    hidden_by : tuple of str
        Every part that hides it.
    asked : bool
        Whether its state asks for it (inspect), rather than it merely coming into view.
    found : tuple of str
        Findings already recorded for it.
    words : str
        The instruction.
    """

    part: str
    after: str | None
    hidden_by: tuple[str, ...]
    asked: bool
    found: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class Carried:
    """Something that a part carries and that needs care of its own.

    Parameters
    ----------
    part : str
        The part that carries it.
    what : str
        As the file names it.
    kind : str
        sensor, restraint, high voltage, wiring, foam, glass, fuel, trim, …, or "other".
    make_safe : str
        Before the part comes off.
    move : str
        What becomes of it: moved over, left on, renewed.
    afterwards : str
        What is owed once the part is on again.
    sources : tuple of Source
        On whose word.
    """

    part: str
    what: str
    kind: str
    make_safe: str
    move: str
    afterwards: str
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Released:
    """A layer that stays on top while one beneath it comes out.

    Parameters
    ----------
    joint : str
        Where.
    stays : str
        The outer layer that stays.
    comes_off : str
        The layer beneath it.
    words : str
        What to do.
    """

    joint: str
    stays: str
    comes_off: str
    words: str


@dataclass(frozen=True)
class Answer:
    """What must come off, in which order, and where to look.

    Parameters
    ----------
    open : tuple of str
        Joints to separate, as they are opened.
    order : tuple of str
        Parts as they come off.
    look : tuple of Look
        Parts to inspect, with the moment.
    refit : tuple of str
        Those of `order` that go back on.
    removals : tuple of Removal
        One for each of `order`.
    separations : tuple of Separation
        One for each of `open`.
    carried : tuple of Carried
        Sensors, restraint parts, wiring and the like on parts that are worked on.
    first : tuple of str
        What is made safe before anything comes off.
    released : tuple of Released
        Layers that stay on top of one that comes off.
    together : tuple of str
        Parts that lie over each other and come off together, in words.
    cycles : tuple of str
        Parts that hide each other in a ring, in words.
    problems : tuple of Problem
        What could not be answered.
    sources : tuple of Source
        All that were used.
    """

    open: tuple[str, ...]
    order: tuple[str, ...]
    look: tuple[Look, ...]
    refit: tuple[str, ...]
    removals: tuple[Removal, ...]
    separations: tuple[Separation, ...]
    carried: tuple[Carried, ...]
    first: tuple[str, ...]
    released: tuple[Released, ...]
    together: tuple[str, ...]
    cycles: tuple[str, ...]
    problems: tuple[Problem, ...]
    sources: tuple[Source, ...]
