from __future__ import annotations

import struct
from types import MappingProxyType

import pytest
from hypothesis import given
from tests.facts.strategies import json_values

from panelwright.facts.canonical import DEEPEST, canonical, frozen, parsed, plain, settled

# RFC 8785 (2020), 3.2.2 to 3.2.4 and appendix B; seen in several copies of the RFC's samples


@pytest.mark.published
def test_the_sample_of_section_3_2_4_comes_out_byte_for_byte() -> None:
    sample = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
        "literals": [None, True, False],
    }
    expected = (
        "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d "
        "2c 22 6e 75 6d 62 65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 "
        "2c 31 65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 "
        "6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f "
        "22 7d"
    )
    assert canonical(sample) == bytes.fromhex(expected)


@pytest.mark.published
def test_keys_are_sorted_as_in_section_3_2_3() -> None:
    sample = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(parsed(canonical(sample)).values()) == [  # type: ignore[attr-defined]
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.published
@pytest.mark.parametrize(("bits", "text"), APPENDIX_B)
def test_numbers_are_written_as_in_appendix_b_and_read_back_the_same(bits: str, text: str) -> None:
    number = struct.unpack(">d", bytes.fromhex(bits))[0]
    assert canonical(number) == text.encode()
    assert parsed(text.encode()) == number
    assert canonical(parsed(text.encode())) == text.encode()


@pytest.mark.exact
@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (float("nan"), "not representable"),
        (float("inf"), "not representable"),
        (2**53, "safe integer"),
        ("\ud800", "non-UTF-8"),
        ({1: "one"}, "a key must be text, not a int"),
        ({"a": {1, 2}}, "a set is no value of JSON"),
        (b"bytes", "a bytes is no value of JSON"),
    ],
    ids=repr,
)
def test_what_json_cannot_say_is_refused(value: object, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        canonical(value)


@pytest.mark.exact
def test_deep_nests_are_refused_and_not_run_into() -> None:
    deep: object = 1
    for _ in range(DEEPEST + 1):
        deep = [deep]
    with pytest.raises(ValueError, match="nested more than 40 deep"):
        canonical(deep)
    with pytest.raises(ValueError, match="nested too deep"):
        parsed(b"[" * 100_000)


@pytest.mark.invariant
@given(json_values)
def test_settled_values_have_the_same_bytes_and_stay_as_they_are(value: object) -> None:
    once = settled(value)
    assert canonical(once) == canonical(value)
    assert settled(once) == once
    assert parsed(canonical(value)) == plain(once)
    assert repr(plain(settled(once))) == repr(plain(once))  # 20 and 20.0 are told apart


@pytest.mark.exact
def test_what_is_frozen_cannot_be_changed() -> None:
    held = frozen({"a": [1, {"b": 2}]})
    assert isinstance(held, MappingProxyType)
    assert held["a"] == (1, {"b": 2})
    with pytest.raises(TypeError, match="does not support item assignment"):
        held["a"] = 1  # type: ignore[index]
    with pytest.raises(ValueError, match="a set is no value"):
        frozen({"a": {1}})
