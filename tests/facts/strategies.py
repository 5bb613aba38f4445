"""Facts and repair files made at random, for tests of what holds for all of them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

from hypothesis import strategies as st

from panelwright.facts.entry import Fact
from panelwright.facts.identity import uuid7

FILE = """\
format = 1

[repair]
name = "heron-114"
opened = 2026-11-20T08:10:00+01:00

[procedure]
reference = "invented 12, 2026-11-20"
read_on = 2026-11-20

[[part]]
id = "outer"
thickness = "1.0 mm"
hides = ["wheelhouse"]
area = 1.1

[[part]]
id = "wheelhouse"

[[joint]]
id = "arch"
layers = ["outer", "wheelhouse"]
old = { diameter = "5.3 mm", count = 15, at = ["30 mm", "80 mm"], strength = "3.5 kN" }
avoid = [["310 mm", "345 mm"]]

[[point]]
id = "L3"
on = "outer"
xyz = [1600, "-31 1/2 in", 1600.5]
u = [20, "free", 0]

[[reading]]
point = "L3"
height = "1602 mm"
at = 2026-11-20T09:00:00.500000Z
note = "2026-11-20"

[[reading]]
point = "L3"
height = "1602 mm"

[[reading]]
point = "L3"
height = "1602 mm"

[[adhesive]]
id = "invented two-part"
use_by = 2027-03-01
time = [
  { event = "work", at = "23 °C", time = "60 min" },
  { event = "handle", at = "73 °F", time = "6 h" },
]
"""

# few names, so that tables refer to one another, are missing, doubled and chase each other
names = st.sampled_from(["outer", "wheelhouse", "arch", "L3", "R3", "body", "lamp 1", "é/✓"])
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
lengths = st.one_of(
    st.sampled_from(["820 mm", "12 3/8 in", "3' 2 1/2\"", "-1/16″", "0 mm", 0, 12, -3.25]),
    st.integers(-5000, 5000),
    st.floats(-5000, 5000),
)
positive_lengths = st.sampled_from(["1.0 mm", "12⅜ in", "3 ft", 5, 0.25])
sizes = st.sampled_from(["1.0 mm", "0 mm", 0, 2, 0.5])
temperatures = st.sampled_from(["19 °C", "66 °F", 23, 18.5])
durations = st.sampled_from(["18 min", "1 h 30 min", "0 min", 5, 0.5])
long_durations = st.sampled_from(["18 min", "6 h", 5])
forces = st.sampled_from(["3.5 kN", "790 lbf", 3.5])
directions = st.sampled_from([[1, 0, 0], [0, -1, 0], [0.6, 0.8, 0]])
days = st.dates(date(1, 1, 1), date(9999, 12, 31))
offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
moments = st.datetimes(
    datetime(1, 1, 2),  # noqa: DTZ001 - the zone is drawn
    datetime(9999, 12, 30),  # noqa: DTZ001
    timezones=st.one_of(st.just(UTC), offsets),
)
instants = st.datetimes(  # of a repair; a fact of the log takes any moment
    datetime(1971, 1, 1),  # noqa: DTZ001
    datetime(2200, 12, 31),  # noqa: DTZ001
    timezones=st.one_of(st.just(UTC), offsets),
)
positions = st.lists(lengths, min_size=3, max_size=3)


def table(required: dict[str, object], **optional: object) -> st.SearchStrategy[dict[str, object]]:
    return st.fixed_dictionaries(required, optional=optional)  # type: ignore[arg-type]


READING = {"by": texts, "at": instants, "with": st.just("tape"), "u": sizes, "note": texts}
READINGS = st.one_of(
    table({"from": names, "to": names, "value": lengths}, **READING),
    table({"compare": st.just([["L3", "R3"], ["R3", "L3"]]), "difference": lengths}, **READING),
    table({"point": names, "height": lengths}, **READING),
    table({"point": names, "xyz": positions}, when=st.sampled_from(["before", "now"]), **READING),
    table(
        {"station": names},
        gap=st.one_of(lengths, st.sampled_from(["tight", "ok", "wide"])),
        flush=st.one_of(lengths, st.sampled_from(["low", "ok", "high"])),
        **READING,
    ),
    table({"contact": names, "state": st.sampled_from(["seated", "open", "forced"])}, lift=lengths),
    table(
        {"locator": names, "state": st.sampled_from(["aligned", "off"])},
        off=st.lists(lengths, min_size=2, max_size=2),
    ),
)

SINGLE = {
    "repair": table({}, name=st.just("heron-114"), opened=instants, note=texts),
    "vehicle": table({}, label=texts, drive=st.sampled_from(["battery", "hybrid"])),
    "procedure": table({}, reference=texts, revision=texts, read_on=days),
    "conditions": table({}, air=temperatures, humidity=st.floats(0, 100)),
    "shop": table(
        {},
        zone=st.one_of(st.just("Europe/Berlin"), texts),
        shift=st.lists(st.one_of(st.just("07:30-12:00"), texts), max_size=3),
        technicians=st.integers(1, 50),
    ),
    "symmetry": table({}, u=sizes),
}

MANY = {
    "part": table(
        {"id": names},
        name=texts,
        thickness=positive_lengths,
        state=st.sampled_from(["keep", "replace", "section"]),
        structural=st.booleans(),
        hides=st.lists(names, max_size=3),
        carries=st.lists(texts, max_size=2),
        arrives=instants,
        area=st.sampled_from(["1.1 m2", "12 sq ft", 1.1]),
        section=st.lists(table({"joint": names}, **{"from": sizes, "to": sizes}), max_size=2),
    ),
    "joint": table(
        {"id": names, "layers": st.lists(names, min_size=1, max_size=3)},
        length=positive_lengths,
        old=table(
            {},
            fastener=texts,
            count=st.integers(0, 40),
            at=st.lists(sizes, max_size=3),
            strength=forces,
        ),
        avoid=st.lists(st.lists(sizes, min_size=2, max_size=2), max_size=2),
        remake=table({}, rivet=texts, adhesive=names),
    ),
    "point": table(
        {"id": names},
        on=names,
        xyz=positions,
        u=st.one_of(
            sizes,
            st.just("free"),
            st.lists(st.one_of(sizes, st.just("free")), min_size=3, max_size=3),
        ),
        twin=names,
        home=st.sampled_from(["twin", "xyz", "before"]),
        tolerance=st.one_of(positive_lengths, table({}, x=positive_lengths, z=positive_lengths)),
    ),
    "tool": table({"id": names, "u": sizes}, scale_u=st.floats(0, 0.1)),
    "reading": READINGS,
    "station": table(
        {"id": names, "part": names, "xyz": positions},
        gap_towards=directions,
        gap=table({"want": lengths}, tolerance=positive_lengths),
    ),
    "contact": table({"id": names, "part": names, "xyz": positions, "normal": directions}),
    "locator": table(
        {"id": names, "part": names, "xyz": positions, "axis": directions}, slot_along=directions
    ),
    "blocked": table({"from": names, "to": names}),
    "event": table(
        {"kind": st.sampled_from(["moved", "bead-begun", "closed", "done"])},
        at=instants,
        joint=names,
        part=names,
        setting=st.integers(1, 9),
    ),
    "adjuster": table(
        {
            "part": names,
            "xyz": positions,
            "along": directions,
            "range": st.lists(lengths, min_size=2, max_size=2),
        },
        id=names,
        kind=st.sampled_from(["slot", "shim", "hinge"]),
        step=positive_lengths,
        at=lengths,
        against=names,
        frees=st.lists(names, max_size=2),
    ),
    "adhesive": table(
        {"id": names},
        use_by=days,
        limit=temperatures,
        lap_shear=st.sampled_from(["20 MPa", "2900 psi", 20]),
        time=st.lists(
            table(
                {
                    "event": st.sampled_from(["work", "handle", "full"]),
                    "at": temperatures,
                    "time": long_durations,
                }
            ),
            max_size=2,
        ),
    ),
    "rivet": table({"id": names, "diameter": positive_lengths}, shear=forces),
    "lamp": table({"id": names}, power=st.sampled_from(["1500 W", "1.5 kW", 1500])),
    "heating": table(
        {"joint": names, "lamp": names, "distance": lengths},
        stays=st.lists(table({"from": durations, "to": durations}), max_size=2),
    ),
    "temperature": table(
        {"joint": names, "minute": st.floats(0, 100), "value": temperatures}, along=sizes
    ),
    "pad": table(
        {
            "part": names,
            "outline": st.lists(st.lists(lengths, min_size=2, max_size=2), min_size=3, max_size=5),
        }
    ),
    "step": table({"id": names}, hours=st.floats(0, 100), after=st.lists(names, max_size=3)),
    "finding": table(
        {"part": names, "what": texts}, state=st.sampled_from(["repair", "replace"]), at=instants
    ),
}


def documents() -> st.SearchStrategy[dict[str, object]]:
    """Repair files whose tables are valid each by itself, as TOML gives them."""
    many = {kind: st.lists(one, min_size=1, max_size=3) for kind, one in MANY.items()}
    return st.fixed_dictionaries({"format": st.just(1)}, optional={**SINGLE, **many})


scalars = st.one_of(
    texts, names, st.booleans(), st.integers(-(2**53) + 1, 2**53 - 1), st.floats(allow_nan=False)
).filter(lambda value: value not in (float("inf"), float("-inf")))
json_values = st.recursive(
    st.one_of(st.none(), scalars),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(texts, inner, max_size=3)),
    max_leaves=8,
)
# few ids, so that some are used twice and withdrawals meet their facts
stamps = st.integers(0, 12).map(
    lambda number: uuid7(datetime(2026, 11, 20, tzinfo=UTC), number.to_bytes(2) + bytes(8))
)


def _spoken(kind: str, body: dict[str, object]) -> tuple[str, dict[str, object]]:
    from panelwright.facts.kinds import body_of  # noqa: PLC0415 - a test of it imports this module

    return kind, body_of(body)


contents = st.one_of(
    *(one.map(lambda body, kind=kind: _spoken(kind, body)) for kind, one in SINGLE.items()),
    *(one.map(lambda body, kind=kind: _spoken(kind, body)) for kind, one in MANY.items()),
    st.tuples(
        st.sampled_from([*SINGLE, *MANY, "withdrawn", "weather"]),
        st.dictionaries(texts, json_values, max_size=3),
    ),
    st.builds(lambda one: ("withdrawn", {"id": str(one), "reason": "typed wrong"}), stamps),
)


@st.composite
def facts(draw: st.DrawFn) -> Fact:
    """Well-formed facts: known kinds and others, bodies that fit and others, withdrawals."""
    kind, body = draw(contents)
    return Fact(
        id=draw(stamps),
        kind=kind,
        version=draw(st.sampled_from([1, 1, 1, 2, 1_000_000])),
        body=body,
        observed_at=draw(moments),
        clock_offset_s=draw(st.floats(-1e6, 1e6)),
        recorded_at=draw(moments),
        person=draw(st.sampled_from(["Kim", "Ada"])),
    )
