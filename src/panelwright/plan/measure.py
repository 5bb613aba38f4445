"""What a step's time is counted by: rivets, metres of joint, points, stations, pads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.plan.course import BONDED_KINDS

if TYPE_CHECKING:
    from collections.abc import Callable

    from panelwright.facts.models.parts import Joint
    from panelwright.plan.course import Course, Thing
    from panelwright.plan.library import LibraryStep

SAID = {
    "old-fastener": "old fasteners",
    "opened-metre": "m of old adhesive",
    "metre": "m of joint",
    "rivet": "rivets",
    "carried": "things carried",
    "body-point": "body points",
    "old-point": "points of the old panel",
    "part-point": "points",
    "station": "gap-and-flush checks",
    "pad": "pads",
}


def minutes(step: LibraryStep, course: Course, thing: Thing) -> tuple[int, str]:
    """Working minutes of a step, rounded up, and how they were found."""
    total, words = step.fixed_min, [f"{step.fixed_min:g} min"] if step.fixed_min else []
    for measure, each in step.rates:
        count = amount(measure, course, thing)
        if count:
            total += count * each
            words.append(f"{count:.3g} {SAID[measure]} × {each:g} min")
    return math.ceil(total - 1e-9), " + ".join(words)


def amount(measure: str, course: Course, thing: Thing) -> float:
    """How much of a measure a step works on."""
    return _MEASURES[measure](course, thing)


def rivets_of(course: Course, joint: Joint) -> int:
    """Rivets of a remade joint: as answered, else by the procedure, else as the factory set."""
    if joint.kind != "rivet-bond":
        return 0
    answer = course.joint_answers.get(joint.id)
    if answer is not None and answer.count is not None:
        return answer.count
    if joint.remake is not None and joint.remake.count is not None:
        return joint.remake.count
    return joint.old.count or 0 if joint.old is not None else 0


def metres_of(course: Course, joint: Joint) -> float:
    """Remade length of a joint, m; 0 where no length is given."""
    answer = course.joint_answers.get(joint.id)
    if answer is not None and answer.opened_mm is not None:
        return (answer.opened_mm[1] - answer.opened_mm[0]) / 1000.0
    return joint.length.mm / 1000.0 if joint.length is not None else 0.0


def _remade(course: Course, thing: Thing) -> list[Joint]:
    return [joint for joint in course.remade if not thing.key or joint.id in thing.joints]


def _opened(course: Course, thing: Thing) -> list[Joint]:
    return [joint for joint in course.opened if not thing.key or joint.id in thing.joints]


def _old_adhesive_metres(course: Course, thing: Thing) -> float:
    return sum(
        metres_of(course, joint)
        for joint in _opened(course, thing)
        if joint.kind == "bond" or (joint.old is not None and joint.old.adhesive)
    )


def _metres(course: Course, thing: Thing) -> float:
    joints = _remade(course, thing)
    glued = [joint for joint in joints if joint.kind in BONDED_KINDS]
    return sum(metres_of(course, joint) for joint in glued or joints)


def _old_fasteners(course: Course, thing: Thing) -> float:
    return sum(j.old.count or 0 for j in _opened(course, thing) if j.old is not None)


def _carried(course: Course, _: Thing) -> float:
    room = course.answers.teardown
    return 0 if room is None else len(room.carried)


def _points(course: Course, thing: Thing) -> float:
    return sum(point.on in thing.parts for point in course.repair.points)


def _stations(course: Course, thing: Thing) -> float:
    return sum(not thing.key or s.part in thing.parts for s in course.repair.stations)


_MEASURES: dict[str, Callable[[Course, Thing], float]] = {
    "old-fastener": _old_fasteners,
    "opened-metre": _old_adhesive_metres,
    "metre": _metres,
    "rivet": lambda c, t: sum(rivets_of(c, joint) for joint in _remade(c, t)),
    "carried": _carried,
    "body-point": lambda c, _: sum(point.on == "body" for point in c.repair.points),
    "old-point": lambda c, _: sum("before" in p.homes for p in c.repair.points),
    "part-point": _points,
    "station": _stations,
    "pad": lambda c, t: sum(pad.part in t.parts for pad in c.repair.pads),
}
