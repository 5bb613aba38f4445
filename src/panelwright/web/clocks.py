"""Which clocks of a repair are running: what must be done by when, and what is waited for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from panelwright.record import Unanswered
from panelwright.web.shown import Clock

if TYPE_CHECKING:
    from panelwright.bond.answer import BondAnswer, JointBond

KEEP = timedelta(hours=12)
"""How long a clock is shown after its end, unless what it asked for is recorded."""


def running(
    answer: BondAnswer | Unanswered, names: Mapping[str, str], now: datetime
) -> tuple[Clock, ...]:
    """Give the clocks that run now, the most pressing first; alike ones of several joints as one.

    Parameters
    ----------
    answer : BondAnswer or Unanswered
    names : mapping
        What people call the joints, by id.
    now : datetime
    """
    if isinstance(answer, Unanswered):
        return ()
    found = [
        clock for bond in answer.joints for clock in _of(bond, names.get(bond.joint, bond.joint))
    ]
    shown = [clock for clock in found if now - clock.until < KEEP]
    told = (_with_alarm(clock) for clock in _together(shown, names))
    return tuple(sorted(told, key=lambda clock: (not clock.limit, clock.until)))


SOON_MIN = {"prepared": 15, "work": 10, "lamp": 3}
"""Minutes before a limit at which the first alarm sounds (common practice, no source)."""


def _limit(kind: str, joint: str, name: str, until: datetime) -> Clock:
    return Clock(f"{kind}-{joint}", _ONE[kind].format(name=name), until, limit=True)


def _of(bond: JointBond, name: str) -> Iterator[Clock]:
    clock, joint = bond.clock, bond.joint
    begun, closed = clock.bead_begun, clock.closed
    if closed is None and begun is None and clock.prepared_until is not None:
        yield _limit("prepared", joint, name, clock.prepared_until)
    if begun is not None and clock.rivets_set is None and clock.work_until is not None:
        yield _limit("work", joint, name, clock.work_until)
    if begun is not None and clock.rivets_set is None and clock.work_until is None:
        words = _ONE["begun"].format(name=name)
        yield Clock(f"begun-{joint}", words, begun, limit=True, since=True)
    if closed is None:
        return
    if clock.lamp_on is not None and (clock.lamp_off is None or clock.lamp_off < clock.lamp_on):
        end = max((stay.to_min for stay in bond.stays), default=None)
        if end is not None:
            yield _limit("lamp", joint, name, closed + timedelta(minutes=end))
    yield from _waits(bond, closed, name)


def _waits(bond: JointBond, closed: datetime, name: str) -> Iterator[Clock]:
    clock, joint = bond.clock, bond.joint
    if clock.released is None and clock.handle is not None:
        words, likely = _ONE["handle"].format(name=name), clock.handle.likely
        yield Clock(f"handle-{joint}", words, clock.handle.late, likely)
    elif clock.full is not None:
        words, likely = _ONE["full"].format(name=name), clock.full.likely
        yield Clock(f"full-{joint}", words, clock.full.late, likely)
    elif clock.released is None:
        yield Clock(f"closed-{joint}", _ONE["closed"].format(name=name), closed, since=True)


def _with_alarm(clock: Clock) -> Clock:
    """Say what sounds before and at the end of a clock; one that counts up has no end."""
    kind = clock.id.partition("-")[0]
    if clock.since:
        return clock
    if not clock.limit:
        return replace(clock, end=_REACHED[kind])
    left = f"{SOON_MIN[kind]} min left or less"
    return replace(clock, soon_min=SOON_MIN[kind], soon=left, end="The time is over")


_REACHED = {
    "handle": "Handling strength is reached by its late bound",
    "full": "Full strength is reached by its late bound",
}


def _together(clocks: list[Clock], names: Mapping[str, str]) -> Iterator[Clock]:
    """Say clocks of one kind once: a limit by the earliest end, a wait by the latest."""
    kinds: dict[str, list[Clock]] = {}
    for clock in clocks:
        kinds.setdefault(clock.id.partition("-")[0], []).append(clock)
    for kind, some in kinds.items():
        if len(some) == 1:
            yield some[0]
            continue
        early = some[0].limit or some[0].since
        main = min(some, key=lambda c: c.until) if early else max(some, key=lambda c: c.until)
        ids = [clock.id.partition("-")[2] for clock in some]
        label = _ALL[kind].format(names=_listed([names.get(one, one) for one in ids]))
        yield replace(main, id=kind, label=label)


_ONE = {
    "prepared": "Adhesive on {name} by",
    "work": "Panel on and last rivet of {name} by",
    "begun": "Adhesive on {name}; its work time is not known",
    "lamp": "Lamp at {name} off at",
    "handle": "Leave {name} clamped until",
    "full": "{name} holds in full from",
    "closed": "{name} is closed; its time to handling strength is not known",
}
_ALL = {
    "prepared": "Adhesive on {names} by",
    "work": "Panel on and last rivet of {names} by",
    "begun": "Adhesive on {names}; their work time is not known",
    "lamp": "Lamp at {names}, first off at",
    "handle": "Leave {names} clamped until",
    "full": "{names} hold in full from",
    "closed": "{names} are closed; their time to handling strength is not known",
}
_MOST_NAMES = 4


def _listed(names: list[str]) -> str:
    if len(names) > _MOST_NAMES:
        return f"{len(names)} joints"
    return f"{', '.join(names[:-1])} and {names[-1]}"
