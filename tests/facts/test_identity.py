from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from uuid import RFC_4122, UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.facts.strategies import moments

from panelwright.facts.identity import id_of_content, is_uuid7, milliseconds, moment_of, uuid7

# RFC 9562 (2024), appendix A.6: 2022-02-22 14:22:22.00 GMT-05:00, rand_a 0xCC3,
# rand_b 0b01 0x8C4DC0C0C07398F. Seen in copies of the example.
MOMENT = datetime(2022, 2, 22, 14, 22, 22, tzinfo=timezone(timedelta(hours=-5)))
RANDOM = (0xCC3 << 62 | 0x18C4DC0C0C07398F) << 6
EXAMPLE = UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")


@pytest.mark.published
def test_the_example_of_rfc_9562_comes_out() -> None:
    assert milliseconds(MOMENT) == 0x017F22E279B0
    assert uuid7(MOMENT, RANDOM.to_bytes(10)) == EXAMPLE
    assert moment_of(EXAMPLE) == MOMENT
    assert is_uuid7(EXAMPLE)


@pytest.mark.second_route
@given(moments, st.binary(min_size=10, max_size=32))
def test_pythons_own_reader_finds_version_and_variant(moment: datetime, random: bytes) -> None:
    made = uuid7(moment, random)
    assert (made.version, made.variant) == (7, RFC_4122)
    assert is_uuid7(made)


@pytest.mark.exact
@pytest.mark.parametrize(
    "other",
    ["017f22e2-79b0-4cc3-98c4-dc0c0c07398f", "017f22e2-79b0-7cc3-18c4-dc0c0c07398f"],
    ids=["version 4", "another variant"],
)
def test_other_ids_are_told_apart(other: str) -> None:
    assert not is_uuid7(UUID(other))


@pytest.mark.invariant
@given(
    st.datetimes(datetime(1970, 1, 1), datetime(9999, 12, 30), timezones=st.just(UTC)),  # noqa: DTZ001
    st.binary(min_size=10, max_size=10),
)
def test_the_moment_comes_back_to_the_millisecond(moment: datetime, random: bytes) -> None:
    back = moment_of(uuid7(moment, random))
    assert timedelta(0) <= moment - back < timedelta(milliseconds=1)


@pytest.mark.invariant
@given(st.integers(0, 2**74 - 1))
def test_every_random_bit_is_kept(bits: int) -> None:
    made = uuid7(MOMENT, (bits << 6).to_bytes(10)).int
    assert (made >> 64 & 0xFFF) << 62 | made & (2**62 - 1) == bits


@pytest.mark.exact
def test_before_1970_there_is_only_the_first_millisecond() -> None:
    assert milliseconds(datetime(1969, 12, 31, tzinfo=UTC)) == 0
    assert milliseconds(datetime(9999, 12, 31, tzinfo=UTC)) < 2**48


@pytest.mark.exact
def test_a_moment_without_zone_or_too_little_chance_is_refused() -> None:
    with pytest.raises(ValueError, match="no offset from UTC"):
        milliseconds(datetime(2026, 11, 20))  # noqa: DTZ001 - that is the point
    with pytest.raises(ValueError, match="9 random bytes; at least 10"):
        uuid7(MOMENT, bytes(9))


@pytest.mark.exact
def test_ids_of_content_differ_by_kind_body_occurrence_and_moment() -> None:
    def made(
        moment: datetime = MOMENT,
        *,
        kind: str = "part",
        body: object = ("outer",),
        occurrence: int = 0,
    ) -> UUID:
        return id_of_content(moment, kind=kind, body=body, occurrence=occurrence)

    others = [
        made(kind="joint"),
        made(body=("inner",)),
        made(occurrence=1),
        made(MOMENT + timedelta(seconds=1)),
    ]
    assert made() == made()
    assert made({}.get("", MOMENT), body=["outer"]) == made()
    assert len({made(), *others}) == 5
    assert all(moment_of(one) == MOMENT for one in others[:3])
