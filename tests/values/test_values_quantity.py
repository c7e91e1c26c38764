"""Quantities: numbers and bands with a unit."""

from __future__ import annotations

import pytest
from every import every
from hypothesis import given, strategies as st
from outside import units
from strategies import many

from advisor.base import InputError, Span
from advisor.base.units import parse_unit
from advisor.data.values import parse_quantity

OTHER_NAMES = {  # how pint, the independent judge, spells our trade units
    "mm": "mm", "cm": "cm", "um": "um", "m": "m", "A": "A", "mA": "mA", "V": "V", "ohm": "ohm",
    "mH": "mH", "uH": "uH", "N": "N", "N m": "N*m", "N cm": "N*cm", "mN m": "mN*m",
    "g cm2": "g*cm**2", "kg m2": "kg*m**2", "mm/s": "mm/s", "mm3/s": "mm**3/s",
    "mm/s2": "mm/s**2", "W": "W", "W/(m K)": "W/(m*K)", "J/(kg K)": "J/(kg*K)", "MPa": "MPa",
    "GPa": "GPa", "s": "s", "ms": "ms", "min": "min", "kHz": "kHz", "1/mm": "1/mm",
    "g/cm3": "g/cm**3", "deg": "deg", "%": "percent", "mm2": "mm**2", "K": "K", "degC": "degC",
}  # fmt: skip


@every("unit", OTHER_NAMES)
@every("value", [0.07, 1.0, 24.0])
def test_si_values_are_those_of_pint(unit: str, value: float) -> None:
    """Every unit of the hardware sheet converts as pint (an independent library) does."""
    judged = units().Quantity(value, OTHER_NAMES[unit]).to_base_units()
    quantity = parse_quantity(f"{value} {unit}")

    assert quantity.typical == pytest.approx(judged.magnitude, rel=1e-12)
    assert quantity.low == quantity.typical == quantity.high


@every(
    ("text", "low", "typical", "high", "unit"),
    [
        ("1.0A", 1.0, 1.0, 1.0, "A"),
        ("1.0 A", 1.0, 1.0, 1.0, "A"),
        (".5A", 0.5, 0.5, 0.5, "A"),
        ("1.A", 1.0, 1.0, 1.0, "A"),
        ("1e-1 A", 0.1, 0.1, 0.1, "A"),
        ("+1 A", 1.0, 1.0, 1.0, "A"),
        ("24mm3/s", 24e-9, 24e-9, 24e-9, "mm3/s"),
        ("24 mm\u00b3/s", 24e-9, 24e-9, 24e-9, "mm3/s"),
        ("80 %", 0.8, 0.8, 0.8, "%"),
        ("80%", 0.8, 0.8, 0.8, "%"),
        ("-5 degC", 268.15, 268.15, 268.15, "degC"),
        ("\u22125 \u00b0C", 268.15, 268.15, 268.15, "degC"),
        ("25\u2103", 298.15, 298.15, 298.15, "degC"),
        ("1.0A..1.5A", 1.0, 1.25, 1.5, "A"),
        ("1.0 A .. 1.1 A..1.5 A", 1.0, 1.1, 1.5, "A"),
        ("45C", 318.15, 318.15, 318.15, "degC"),
        ("45 deg C", 318.15, 318.15, 318.15, "degC"),
        ("0.5 A RMS", 0.5, 0.5, 0.5, "A rms"),
        ("3 \u00b5m", 3e-6, 3e-6, 3e-6, "um"),
        ("3 \u03bcm", 3e-6, 3e-6, 3e-6, "um"),
        ("2 \u03a9", 2.0, 2.0, 2.0, "ohm"),
        ("2 \u2126", 2.0, 2.0, 2.0, "ohm"),
        ("5 N\u00b7m", 5.0, 5.0, 5.0, "N m"),
        ("5 Nm", 5.0, 5.0, 5.0, "N m"),
        ("24\u00a0V", 24.0, 24.0, 24.0, "V"),
        ("10 1/s", 10.0, 10.0, 10.0, "1/s"),
        ("0.8 A rms", 0.8, 0.8, 0.8, "A rms"),
        ("0.8 A peak", 0.8, 0.8, 0.8, "A peak"),
        ("0.09..0.14 N m", 0.09, 0.115, 0.14, "N m"),
        ("0.09 .. 0.14 N m", 0.09, 0.115, 0.14, "N m"),
        ("0.09\u20260.14 N m", 0.09, 0.115, 0.14, "N m"),
        ("1..2 mm", 1e-3, 1.5e-3, 2e-3, "mm"),
        ("1..2..4 mm", 1e-3, 2e-3, 4e-3, "mm"),
        (".1.. .5 mm", 1e-4, 3e-4, 5e-4, "mm"),
        ("-10..40 degC", 263.15, 288.15, 313.15, "degC"),
        ("5..5 mm", 5e-3, 5e-3, 5e-3, "mm"),
    ],
)
def test_quantity_is_read(text: str, low: float, typical: float, high: float, unit: str) -> None:
    """Numbers and bands, glued or not, in the spellings of a keyboard's special characters."""
    quantity = parse_quantity(text)

    assert (quantity.low, quantity.typical, quantity.high) == pytest.approx(
        (low, typical, high), rel=1e-12
    )
    assert quantity.unit.symbol == unit
    assert quantity.text == text


@every(
    ("text", "sentence"),
    [
        ("", "the value is empty; write a number with its unit, e.g. '0.8 A'"),
        ("  ", "the value is empty; write a number with its unit, e.g. '0.8 A'"),
        ("5", "'5' has no unit; a bare number needs a unit, e.g. '5 A'"),
        ("1..2", "'1..2' has no unit; a bare number needs a unit, e.g. '1..2 A'"),
        ("0,8 A", "'0,8 A' has a decimal comma; write '0.8 A'"),
        ("2..1 mm", "the band '2..1 mm' falls; write the lower end first"),
        ("1..3..2 mm", "the band '1..3..2 mm' falls; write the lower end first"),
        ("1e999 mm", "'1e999 mm' is too large; write a number that can be"),
        ("A", "'A' is no value; write it like '0.8 A' or '0.09..0.14 N m'"),
        ("nan A", "'nan A' is no value; write it like '0.8 A' or '0.09..0.14 N m'"),
        ("1...2 mm", "'1...2 mm' is no value; write it like '0.8 A' or '0.09..0.14 N m'"),
        ("1..", "'1..' is no value; write it like '0.8 A' or '0.09..0.14 N m'"),
        ("1..2..3..4 mm", "'1..2..3..4 mm' is no value"),
        ("5 mm, 6 mm", "'5 mm, 6 mm' is no value"),
        ("1-2 mm", "'1-2 mm' is no value"),
        ("{{ x }} mm", "'{{ x }} mm' is no value"),
        ("5 foo", "'foo' is no unit we know"),
        ("5 Mm", "'Mm' is no unit we know; did you mean 'mm'?"),
        ("1_0 mm", "'1_0 mm' is no value"),
    ],
)
def test_what_is_no_quantity_is_said_in_one_sentence(text: str, sentence: str) -> None:
    """Each quotes the text and says what to write."""
    with pytest.raises(InputError) as caught:
        parse_quantity(text)

    assert str(caught.value).startswith(sentence)


@every(
    ("text", "expected", "sentence"),
    [
        ("5", "mm", "'5' has no unit; a bare number needs a unit, e.g. '5 mm'"),
        ("5 A", "mm", "'5 A' is in 'A'; write it in 'mm'"),
        ("5 mm", "", "'5 mm' is in 'mm'; write a plain number or '%'"),
        ("1 A", "A rms", "'1 A' is in 'A'; write it in 'A rms'"),
        ("1 A peak", "A rms", "'1 A peak' is in 'A peak'; write it in 'A rms'"),
        ("1 A peak", "A", "'1 A peak' is in 'A peak'; write it in 'A'"),
        ("300 K", "degC", "'300 K' is in 'K'; write it in 'degC'"),
        ("5 degC", "K", "'5 degC' is in 'degC'; write it in 'K'"),
        ("5 rad/s", "1/s", "'5 rad/s' is in 'rad/s'; write it in '1/s'"),
    ],
)
def test_unit_that_is_not_due_is_refused(text: str, expected: str, sentence: str) -> None:
    """Dimension and kind count: RMS is not peak, a difference is no temperature."""
    with pytest.raises(InputError) as caught:
        parse_quantity(text, parse_unit(expected))

    assert str(caught.value) == sentence


@every(
    ("text", "expected", "value"),
    [
        ("50 cm", "mm", 0.5),
        ("130 mA", "A", 0.13),
        ("0.90", "", 0.9),
        ("0.90", "-", 0.9),
        ("90 %", "-", 0.9),
        ("800 mA rms", "A rms", 0.8),
        ("25 degC", "degC", 298.15),
        ("3 m/min", "mm/s", 0.05),
    ],
)
def test_unit_of_the_same_kind_is_taken(text: str, expected: str, value: float) -> None:
    """Any unit of the dimension will do, and a plain number where no unit is due."""
    assert parse_quantity(text, parse_unit(expected)).typical == pytest.approx(value, rel=1e-12)


def test_error_names_the_place() -> None:
    """The place is the caller's."""
    with pytest.raises(InputError) as caught:
        parse_quantity("5", at=Span("hardware.yaml", 3, 18))

    assert str(caught.value).startswith("hardware.yaml:3:18: '5' has no unit")


finite = st.floats(0.0, 1e6, allow_subnormal=False)


@many
@given(finite, finite, st.sampled_from(sorted(OTHER_NAMES)))
def test_bands_keep_their_order_and_their_middle(a: float, b: float, unit: str) -> None:
    """Low, typical and high rise, and the middle is the middle, in every unit."""
    low, high = sorted((a, b))
    quantity = parse_quantity(f"{low!r}..{high!r} {unit}")

    assert quantity.low <= quantity.typical <= quantity.high
    assert quantity.typical - quantity.low == pytest.approx(
        quantity.high - quantity.typical, rel=1e-6, abs=1e-9 * quantity.high
    )


@many
@given(
    st.one_of(
        st.text(max_size=30), st.text(alphabet="0123456789. eE+-,AmNs/%()\u00b0", max_size=16)
    )
)
def test_any_text_is_a_quantity_or_an_input_error(text: str) -> None:
    """Nothing else is ever raised."""
    try:
        quantity = parse_quantity(text)
    except InputError as err:
        sentence = str(err)
    else:
        sentence = "fine"
        assert quantity.low <= quantity.typical <= quantity.high

    assert len(sentence.splitlines()) == 1


def test_long_text_is_no_quantity() -> None:
    """A megabyte of digits is refused without a look."""
    with pytest.raises(InputError, match="is no value"):
        parse_quantity("1" * 1_000_000 + " mm")
