"""What comes off and in which order, beside a checker that tries every possibility."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panelwright.teardown.graph import Graph, Joint, Part, State
from panelwright.teardown.needs import needs
from panelwright.teardown.order import hiding, order, overlapping

OFF = {State.REPLACE, State.REFIT, State.SECTION}
REACHED = {State.REPAIR, State.INSPECT}


@st.composite
def graphs(draw: st.DrawFn, *, rings: bool = False, most: int = 6) -> Graph:
    """Small bodies; without rings, the file's order is shuffled against the hiding order."""
    count = draw(st.integers(1, most))
    names = [f"p{number}" for number in range(count)]
    depth = draw(st.permutations(range(count)))
    pairs = [
        (a, b)
        for a in range(count)
        for b in range(count)
        if a != b and (rings or depth[a] < depth[b])
    ]
    hides = draw(st.sets(st.sampled_from(pairs), max_size=6)) if pairs else set()
    kinds = st.sampled_from(["rivet-bond", "bolt", "hem"])
    layers = st.lists(st.sampled_from([*names, "body"]), min_size=1, max_size=3, unique=True)
    joints = draw(st.lists(st.tuples(layers, kinds), max_size=6))
    if not rings:
        place = {"body": count} | {name: depth[number] for number, name in enumerate(names)}
        joints = [(sorted(names_, key=lambda n: place[n]), kind) for names_, kind in joints]
    parts = tuple(
        Part(
            name,
            draw(st.sampled_from(list(State))),
            tuple(names[b] for a, b in sorted(hides) if a == number),
        )
        for number, name in enumerate(names)
    )
    return Graph(
        parts, tuple(Joint(f"j{k}", tuple(ls), kind) for k, (ls, kind) in enumerate(joints))
    )


def lets_the_work_be_done(graph: Graph, off: frozenset[str]) -> bool:
    """Whether taking off exactly these parts is enough: the rules, told one by one."""
    states = {part.id: part.state for part in graph.parts}
    if any(state in OFF and name not in off for name, state in states.items()):
        return False
    worked_on = off | {name for name, state in states.items() if state in REACHED}
    for part in graph.parts:
        if part.id not in off and set(part.hides) & worked_on:
            return False
    for part in graph.parts:
        joints = [joint for joint in graph.joints if part.id in joint.layers]
        hangs = bool(joints) and all(
            joint.kind == "bolt"
            and joint.layers.index(part.id) == 0
            and any(n in off and states[n] is not State.SECTION for n in joint.layers[1:])
            for joint in joints
        )
        if hangs and part.id not in off:
            return False
    return True


@pytest.mark.second_route
@settings(max_examples=150, deadline=None)
@given(graphs(rings=True))
def test_the_least_set_is_the_one_that_trying_every_set_finds(graph: Graph) -> None:
    names = [part.id for part in graph.parts]
    enough = [
        frozenset(chosen)
        for size in range(len(names) + 1)
        for chosen in itertools.combinations(names, size)
        if lets_the_work_be_done(graph, frozenset(chosen))
    ]
    found = frozenset(needs(graph).off)
    assert found == enough[0]
    assert all(found <= other for other in enough)  # nothing in it could be left on


def earlier_pairs(graph: Graph, off: frozenset[str]) -> tuple[set, set]:
    """Who must precede whom, read straight from the parts and joints."""
    hard = {(p.id, h) for p in graph.parts if p.id in off for h in p.hides if h in off}
    soft = {
        (outer, inner)
        for joint in graph.joints
        for outer, inner in itertools.combinations(joint.layers, 2)
        if outer in off
        and inner in off
        and State.SECTION not in {graph.part(outer).state, graph.part(inner).state}
    }
    return hard, soft


@pytest.mark.second_route
@settings(max_examples=150, deadline=None)
@given(graphs())
def test_without_rings_the_order_is_the_first_of_all_permitted_ones(graph: Graph) -> None:
    names = graph.in_order(frozenset(needs(graph).off))
    hard, soft = earlier_pairs(graph, frozenset(names))
    found = order(names, hiding(graph, names), overlapping(graph, names))
    permitted = (
        way
        for way in itertools.permutations(names)
        if all(way.index(a) < way.index(b) for a, b in hard | soft)
    )
    assert found.parts == next(permitted)  # permutations come in the file's order
    assert found.rings == ()
    assert found.interlocked == ()


def reachable(pairs: set, names: tuple[str, ...]) -> set:
    """Transitive closure by repeated joining."""
    closed = set(pairs)
    for _ in names:
        closed |= {(a, d) for a, b in closed for c, d in closed if b == c}
    return closed


@pytest.mark.second_route
@settings(max_examples=150, deadline=None)
@given(graphs(rings=True))
def test_with_rings_only_what_lies_on_a_ring_is_given_up(graph: Graph) -> None:
    names = graph.in_order(frozenset(needs(graph).off))
    hard, soft = earlier_pairs(graph, frozenset(names))
    found = order(names, hiding(graph, names), overlapping(graph, names))
    assert sorted(found.parts) == sorted(names)
    ring_of_hiding = reachable(hard, names)
    any_ring = reachable(hard | soft, names)
    for a, b in hard:
        assert found.parts.index(a) < found.parts.index(b) or (b, a) in any_ring
        if not any((name, name) in ring_of_hiding for name in names):
            assert found.parts.index(a) < found.parts.index(b)
    for a, b in soft:
        assert found.parts.index(a) < found.parts.index(b) or (b, a) in any_ring
    assert bool(found.rings) == any((name, name) in ring_of_hiding for name in names)
    for ring in found.rings:
        assert all(pair in hard for pair in itertools.pairwise(ring))
        assert ring[0] == ring[-1]


@pytest.mark.invariant
@settings(max_examples=60, deadline=None)
@given(graphs())
def test_a_part_that_touches_nothing_changes_nothing(graph: Graph) -> None:
    lonely = Graph((*graph.parts, Part("lonely", State.KEEP)), graph.joints)
    assert set(needs(lonely).off) == set(needs(graph).off)


@pytest.mark.invariant
@settings(max_examples=60, deadline=None)
@given(graphs())
def test_each_chain_of_reasons_ends_at_a_part_with_a_state_of_its_own(graph: Graph) -> None:
    found = needs(graph)
    states = {part.id: part.state for part in graph.parts}
    for name in found.off:
        chain = found.chain(name)
        assert 1 <= len(chain) <= len(graph.parts)
        last = name
        while found.off.get(last) and found.off[last].because_of:
            last = str(found.off[last].because_of)
        assert states[last] in OFF | REACHED


@pytest.mark.exact
def test_the_shortest_chain_of_reasons_is_told() -> None:
    graph = Graph(
        (
            Part("a", hides=("b", "d")),
            Part("b", hides=("c",)),
            Part("c", hides=("d",)),
            Part("d", State.REPLACE),
        ),
        (),
    )
    assert needs(graph).chain("a") == ("a hides d", "d is replaced")


@pytest.mark.exact
def test_a_hundred_layers_deep_each_hider_comes_first() -> None:
    names = [f"p{number}" for number in range(100)]
    parts = [Part(name, hides=(names[k - 1],) if k else ()) for k, name in enumerate(names)]
    graph = Graph((Part("p0", State.REPLACE), *parts[1:]), ())
    off = graph.in_order(frozenset(needs(graph).off))
    found = order(off, hiding(graph, off), overlapping(graph, off))
    assert found.parts == tuple(reversed(names))


@pytest.mark.exact
@pytest.mark.parametrize(
    ("second", "comes_off"),
    [
        (Joint("k", ("lamp", "body"), "bolt"), False),
        (Joint("k", ("lamp", "outer", "rail"), "bolt"), True),
        (Joint("k", ("outer", "lamp"), "bolt"), False),
        (Joint("k", ("body", "lamp", "outer"), "bolt"), False),
        (Joint("k", ("lamp", "outer"), "bond"), False),
    ],
)
def test_a_lamp_comes_off_where_every_bolt_of_it_comes_out(second: Joint, comes_off: bool) -> None:
    parts = (Part("lamp"), Part("outer", State.REPLACE), Part("rail"))
    graph = Graph(parts, (Joint("j", ("lamp", "outer"), "bolt"), second))
    assert ("lamp" in needs(graph).off) == comes_off


@pytest.mark.exact
def test_a_ring_of_layers_is_untied_before_what_lies_beneath_it() -> None:
    ring_on_top = {("a", "b"), ("b", "a")}
    beneath = {("c", "d"), ("d", "c"), ("a", "c")}
    found = order(("c", "d", "a", "b"), frozenset(), frozenset(ring_on_top | beneath))
    assert found.parts == ("a", "b", "c", "d")
    assert found.interlocked == (("a", "b", "a"), ("c", "d", "c"))
