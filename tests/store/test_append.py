from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from panelwright.errors import InvalidFile, StoreError, UnknownRepairError
from panelwright.facts.entry import Fact
from panelwright.facts.fold import fold
from panelwright.facts.log import Log
from panelwright.store import Place, Store, open_store
from tests.facts.strategies import facts as any_facts
from tests.store.making import fact, facts, identity, withdrawal


@pytest.mark.second_route
def test_the_stored_log_is_the_one_that_facts_make(store: Store, place: Place) -> None:
    store.start("heron-114", facts(0, 3))
    done = store.append("heron-114", facts(3, 4))
    expected = Log().extend(facts(0, 7))
    assert store.log("heron-114") == expected
    assert (done.log_head, done.numbers, done.added) == (expected.head, (3, 4, 5, 6), 4)
    with open_store(place, make=False) as another:
        assert another.log("heron-114") == expected


@pytest.mark.exact
def test_a_fact_sent_twice_is_stored_once_whoever_sends_it(store: Store) -> None:
    first = store.start("heron-114", facts(0, 3))
    again = store.append("heron-114", [fact(1), fact(3), fact(3, person="Ada"), fact(2)])
    assert again.numbers == (1, 3, 3, 2)
    assert (again.added, again.seq) == (1, first.seq + 1)
    assert store.append("heron-114", facts(0, 4)).added == 0
    assert store.log("heron-114").facts == tuple(facts(0, 4))


@pytest.mark.exact
def test_an_id_that_says_something_else_is_refused_and_nothing_of_it_stored(store: Store) -> None:
    store.start("heron-114", facts(0, 2))
    with pytest.raises(InvalidFile, match="stands for another fact"):
        store.append("heron-114", [fact(2), fact(1, body={"humidity": 99})])
    with pytest.raises(InvalidFile, match="stands for another fact"):
        store.append("heron-114", [fact(3), fact(3, body={"humidity": 99})])
    assert store.log("heron-114").facts == tuple(facts(0, 2))
    assert store.last_seq() == 2


@pytest.mark.exact
def test_the_same_id_may_stand_in_two_repairs(store: Store) -> None:
    store.start("heron-114", facts(0, 1))
    store.start("heron-115", [fact(0, body={"humidity": 99})])
    assert store.log("heron-115").facts[0].body == {"humidity": 99}


@pytest.mark.exact
def test_an_unknown_repair_is_told_with_those_there_are(store: Store) -> None:
    with pytest.raises(UnknownRepairError, match=r"no repair 'heron-1' is stored.*none is stored"):
        store.append("heron-1", facts(0, 1))
    store.start("heron-114", facts(0, 1))
    store.start("heron-115", [])
    with pytest.raises(UnknownRepairError, match="there are heron-114, heron-115"):
        store.log("heron-1")
    assert store.log("heron-115") == Log()
    assert store.last_seq() == 1


@pytest.mark.exact
def test_a_repair_started_twice_is_one_and_another_cannot_take_its_name(store: Store) -> None:
    store.start("heron-114", facts(0, 2))
    assert store.start("heron-114", facts(0, 2)).added == 0
    with pytest.raises(StoreError, match="there is a repair 'heron-114' already"):
        store.start("heron-114", facts(1, 2))
    assert len(store.log("heron-114").entries) == 2


@pytest.mark.exact
@pytest.mark.parametrize("name", ["", "../x", "a b", "-a", "ä", "a" * 81, "a\n"])
def test_what_is_no_name_is_refused(store: Store, name: str) -> None:
    with pytest.raises(StoreError, match="no name for a repair"):
        store.start(name, facts(0, 1))
    assert store.repairs() == ()


@pytest.mark.exact
def test_the_global_number_counts_the_facts_of_all_repairs_without_a_gap(store: Store) -> None:
    store.start("a", facts(0, 2))
    store.start("b", facts(10, 1))
    store.append("a", facts(2, 2))
    events = store.since(0)
    assert [(one.seq, one.repair, one.number) for one in events] == [
        (1, "a", 0),
        (2, "a", 1),
        (3, "b", 0),
        (4, "a", 2),
        (5, "a", 3),
    ]
    assert [one.id for one in store.since(2, most=2)] == [str(identity(10)), str(identity(2))]
    assert store.since(5) == ()
    assert store.last_seq() == 5


@pytest.mark.exact
def test_a_withdrawal_is_a_fact_like_others(store: Store) -> None:
    store.start("heron-114", [*facts(0, 2), withdrawal(5, of=fact(1))])
    assert fold(store.log("heron-114")).withdrawn == {fact(1).id}
    assert store.resolve("heron-114").repair.conditions.humidity == 0


@pytest.mark.exact
def test_a_stored_repair_goes_by_the_name_it_is_stored_under(store: Store, place: Place) -> None:
    from panelwright.store import resolve  # noqa: PLC0415

    store.import_text("format = 1\n[[part]]\nid = 'outer'\n", person="Kim", name="heron-7")
    found = resolve("heron-7", place)
    assert found.repair.repair.name == "heron-7"
    assert [part.id for part in found.repair.parts] == ["outer"]
    assert 'name = "heron-7"' in found.text
    again = store.import_text(found.text, person="Kim", name="copy")
    assert again.name == "copy"


@pytest.mark.exact
def test_a_log_that_is_known_is_not_read_again(store: Store) -> None:
    store.start("heron-114", facts(0, 50))
    before = store.log("heron-114").entries
    store.append("heron-114", facts(50, 2))
    log = store.log("heron-114")
    assert len(log.entries) == 52
    assert all(one is other for one, other in zip(before, log.entries, strict=False))
    assert store.log("heron-114") is log


@pytest.mark.invariant
@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(told=st.lists(any_facts(), max_size=6, unique_by=lambda one: one.id), cut=st.integers(0, 6))
def test_whatever_is_well_formed_comes_back_as_it_was(
    store: Store, told: list[Fact], cut: int
) -> None:
    name = f"r{len(store.repairs())}"
    store.start(name, told[:cut])
    store.append(name, told[cut:])
    assert store.log(name) == Log().extend(told)
