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
    return tuple(sorted(_together(shown), key=lambda clock: (not clock.limit, clock.until)))


def _of(bond: JointBond, name: str) -> Iterator[Clock]:
    clock = bond.clock
    if clock.closed is None and clock.bead_begun is None and clock.prepared_until is not None:
        words = f"Adhesive on {name} by"
        yield Clock(f"prepared-{bond.joint}", words, clock.prepared_until, limit=True)
    if clock.bead_begun is not None and clock.rivets_set is None and clock.work_until is not None:
        words = f"Panel on and last rivet of {name} by"
        yield Clock(f"work-{bond.joint}", words, clock.work_until, limit=True)
    if clock.closed is None:
        return
    if clock.lamp_on is not None and (clock.lamp_off is None or clock.lamp_off < clock.lamp_on):
        end = max((stay.to_min for stay in bond.stays), default=None)
        if end is not None:
            words = f"Lamp at {name} off at"
            off = clock.closed + timedelta(minutes=end)
            yield Clock(f"lamp-{bond.joint}", words, off, limit=True)
    if clock.released is None and clock.handle is not None:
        words = f"Leave {name} clamped until"
        likely = clock.handle.likely
        yield Clock(f"handle-{bond.joint}", words, clock.handle.late, likely)
    elif clock.full is not None:
        words = f"{name} holds in full from"
        yield Clock(f"full-{bond.joint}", words, clock.full.late, clock.full.likely)


def _together(clocks: list[Clock]) -> Iterator[Clock]:
    """Say clocks of one kind once: a limit by the earliest end, a wait by the latest."""
    kinds: dict[str, list[Clock]] = {}
    for clock in clocks:
        kinds.setdefault(clock.id.partition("-")[0], []).append(clock)
    for kind, some in kinds.items():
        if len(some) == 1:
            yield some[0]
            continue
        limit = some[0].limit
        main = min(some, key=lambda c: c.until) if limit else max(some, key=lambda c: c.until)
        names = [clock.id.partition("-")[2] for clock in some]
        label = _ALL[kind].format(names=_listed(names))
        yield replace(main, id=kind, label=label)


_ALL = {
    "prepared": "Adhesive on {names} by",
    "work": "Panel on and last rivet of {names} by",
    "lamp": "Lamp at {names}, first off at",
    "handle": "Leave {names} clamped until",
    "full": "{names} hold in full from",
}
_MOST_NAMES = 4


def _listed(names: list[str]) -> str:
    if len(names) > _MOST_NAMES:
        return f"{len(names)} joints"
    return f"{', '.join(names[:-1])} and {names[-1]}"
