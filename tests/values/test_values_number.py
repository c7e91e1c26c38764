"""Numbers: what the firmware's float() and int() take, and a word for what they do not."""

from __future__ import annotations

import math

from every import every
from hypothesis import given, strategies as st
from strategies import many

from advisor.data.values import parse_integer, parse_number, why_no_number

number_like = st.text(alphabet="0123456789.,eE+-_ xA%\u00a0\u0663;\"'", max_size=10)


@every(
    ("text", "value"),
    [
        ("9", 9.0),
        ("9.9", 9.9),
        (".53033", 0.53033),
        ("9.", 9.0),
        ("0.110", 0.110),
        ("007", 7.0),
        ("+5", 5.0),
        ("-250", -250.0),
        ("1e-3", 1e-3),
        ("1E+3", 1000.0),
        ("  22.6789511  ", 22.6789511),
        ("\u00a010", 10.0),
        ("-0", 0.0),
        ("\u0663", 3.0),
        ("4294967295", 4294967295.0),
    ],
)
def test_number_the_firmware_takes(text: str, value: float) -> None:
    """All spellings that a survey of configs met, and those float() takes beside them."""
    assert parse_number(text) == value


@every(
    ("text", "word"),
    [
        ("", "empty"),
        ("   ", "empty"),
        ("{{ common.run_current }}", "template"),
        ("{% if x %}1{% endif %}", "template"),
        ("${run_current}", "template"),
        ("{run_current}", "template"),
        ("0.{{ x }}", "template"),
        ('"0.8"', "quoted"),
        ("'0.8'", "quoted"),
        ("\u201c0.8\u201d", "quoted"),
        ("0,8", "decimal-comma"),
        ("-0,8", "decimal-comma"),
        ("0,85 A", "decimal-comma"),
        ("22,6789", "decimal-comma"),
        ("0.85;0.5", "glued-comment"),
        ("0.85;was 0.5 A", "glued-comment"),
        ("0.8A", "unit"),
        ("0.8 A", "unit"),
        ("0.8 A RMS", "unit"),
        ("24mm3/s", "unit"),
        ("24 mm\u00b3/s", "unit"),
        ("80%", "unit"),
        ("230C", "unit"),
        ("230 \u00b0C", "unit"),
        ("0.11 Ohm", "unit"),
        ("1.8\u00b0", "unit"),
        ("?", "placeholder"),
        ("????", "placeholder"),
        ("<your value>", "placeholder"),
        ("xx", "placeholder"),
        ("TODO", "placeholder"),
        ("CHANGE_ME", "placeholder"),
        ("n/a", "placeholder"),
        ("...", "placeholder"),
        ("nan", "other"),
        ("inf", "other"),
        ("-Infinity", "other"),
        ("1e999", "other"),
        ("1_000", "other"),
        ("0x10", "other"),
        ("1.2.3", "other"),
        ("0.8 0.9", "other"),
        ("0.4, 0.4", "other"),
        ("about 5", "other"),
        ("5 apples", "other"),
        ("True", "other"),
        ("50:10", "other"),
        ("0.8\nj: 5", "other"),
    ],
)
def test_what_is_no_number_is_named(text: str, word: str) -> None:
    """No guess is made at a value; one word says what stands there."""
    assert parse_number(text) is None
    assert why_no_number(text) == word


@many
@given(st.one_of(number_like, st.floats().map(repr), st.integers().map(str)))
def test_number_is_what_float_takes(text: str) -> None:
    """Python's float() decides, but for nan, infinity and underscores."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    expected = value if math.isfinite(value) and "_" not in text else None

    assert parse_number(text) == expected


@many
@given(st.one_of(number_like, st.integers().map(str)))
def test_integer_is_what_int_takes(text: str) -> None:
    """Python's int() decides, but for underscores."""
    try:
        expected = int(text) if "_" not in text else None
    except ValueError:
        expected = None

    assert parse_integer(text) == expected


def test_whole_number_with_a_point_is_no_integer() -> None:
    """int() refuses 16.0, and so does the firmware."""
    assert parse_integer("16") == 16
    assert parse_integer(" 16 ") == 16
    assert parse_integer("16.0") is None
    assert parse_integer("9" * 5000) is None


@many
@given(st.one_of(number_like, st.text(max_size=30)))
def test_any_text_has_a_word(text: str) -> None:
    """Whatever stands there, the answer is one of the eight words."""
    words = (
        "empty", "template", "quoted", "decimal-comma", "glued-comment", "unit", "placeholder",
        "other",
    )  # fmt: skip

    assert why_no_number(text) in words


@every("piece", ["1", "{a", "<", "x", "?", ",", "1,", ";", " ", "A ", "'"])
def test_long_texts_are_answered_at_once(piece: str) -> None:
    """A value of a million characters is only looked at from its beginning."""
    assert why_no_number(piece * 1_000_000)
