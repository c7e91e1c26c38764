"""The unit algebra against pint, an independent unit library, and against the SI Brochure."""

from __future__ import annotations

import functools
import itertools
import operator
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from every import every
from hypothesis import given, settings, strategies as st
from outside import units
from tiers import examples, spread, wide

from advisor.base import DataError
from advisor.expression import compile_expression, evaluate

UNITS = {  # ours: pint's; angles left out, pint takes a radian for a plain number
    "mm": "mm",
    "m": "m",
    "mm2": "mm**2",
    "mm3": "mm**3",
    "mm/s": "mm/s",
    "mm3/s": "mm**3/s",
    "mm/s2": "mm/s**2",
    "1/s": "1/s",
    "kHz": "1000/s",
    "1/mm": "1/mm",
    "s": "s",
    "ms": "ms",
    "min": "minute",
    "A": "A",
    "mA": "mA",
    "V": "V",
    "ohm": "ohm",
    "kohm": "kiloohm",
    "mH": "mH",
    "Wb": "weber",
    "N": "N",
    "N m": "N*m",
    "mN m": "mN*m",
    "N cm": "N*cm",
    "g cm2": "g*cm**2",
    "W": "W",
    "J/g": "J/g",
    "J/(kg K)": "J/(kg*delta_degC)",
    "K": "delta_degC",
    "K/W": "delta_degC/W",
    "MPa": "MPa",
    "g/cm3": "g/cm**3",
    "mm2/s": "mm**2/s",
    "%": "0.01",
    "": "1",
}
OPERATORS: dict[str, Callable[[Any, Any], Any]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
}


@functools.cache
def of_pint(number: float, unit: str) -> Any:
    """The quantity in pint, in base units (a difference of temperatures, not a point)."""
    return (number * units()(UNITS[unit])).to_base_units()


def exponents(quantity: Any) -> dict[str, int]:
    """The dimension of a pint quantity as exponents of our base units."""
    names = {
        "[length]": "m",
        "[mass]": "kg",
        "[time]": "s",
        "[current]": "A",
        "[temperature]": "K",
    }
    return {names[name]: round(power) for name, power in quantity.dimensionality.items()}


def our_exponents(text: str) -> dict[str, int]:
    kind = compile_expression(text, {}).kind
    names = ("m", "kg", "s", "A", "K", "rad")
    return {n: p for n, p in zip(names, kind.dimension.exponents, strict=True) if p}


@every("unit", UNITS)
def test_literal_has_the_value_and_dimension_of_pint(unit: str) -> None:
    """A number with a unit comes out in SI as pint's does."""
    found = evaluate(compile_expression(f"2.5 {unit}", {}), {}).value

    assert found == pytest.approx(of_pint(2.5, unit).magnitude, rel=1e-12)
    assert our_exponents(f"2.5 {unit}") == exponents(of_pint(2.5, unit))


@wide
@pytest.mark.parametrize("sign", ["+", "-", "<", ">=", "=="])
def test_sums_and_comparisons_are_accepted_where_pint_accepts_them(sign: str) -> None:
    """Any two units can be added or compared exactly where pint finds one dimension."""
    for left, right in spread(list(itertools.product(UNITS, repeat=2)), 200):
        fits = of_pint(1, left).dimensionality == of_pint(1, right).dimensionality
        assert accepts(f"3 {left} {sign} 2 {right}") == fits, (left, sign, right)


def accepts(text: str) -> bool:
    try:
        compile_expression(text, {})
    except DataError as err:
        return "do not fit together" not in err.problem and "cannot be" not in err.problem
    return True


@dataclass(frozen=True)
class Sum:
    """A drawn expression: our text, and how pint reckons it."""

    text: str
    pint: Callable[[], Any]


@st.composite
def literals(draw: st.DrawFn) -> Sum:
    number = draw(st.integers(1, 999)) / 8
    unit = draw(st.sampled_from(sorted(UNITS)))
    return Sum(f"{number} {unit}", lambda: of_pint(number, unit))


def joined(parts: st.SearchStrategy[Sum]) -> st.SearchStrategy[Sum]:
    def two(left: Sum, sign: str, right: Sum) -> Sum:
        reckon = OPERATORS[sign]
        return Sum(f"({left.text} {sign} {right.text})", lambda: reckon(left.pint(), right.pint()))

    def power(base: Sum, exponent: int) -> Sum:
        return Sum(f"({base.text}) ^ {exponent}", lambda: base.pint() ** exponent)

    def negative(base: Sum) -> Sum:
        return Sum(f"-({base.text})", lambda: -base.pint())

    def lowest(left: Sum, right: Sum) -> Sum:
        return Sum(f"min({left.text}, {right.text})", lambda: min(left.pint(), right.pint()))

    return st.one_of(
        st.builds(two, parts, st.sampled_from(sorted(OPERATORS)), parts),
        st.builds(power, parts, st.integers(-2, 3)),
        st.builds(negative, parts),
        st.builds(lowest, parts, parts),
    )


@wide
@settings(max_examples=examples(25, 400, 4000), deadline=None)
@given(st.recursive(literals(), joined, max_leaves=6))
def test_any_reckoning_agrees_with_pint(drawn: Sum) -> None:
    """Mixes of units are accepted where pint accepts them, with pint's value and dimension."""
    from pint import DimensionalityError

    try:
        expected = drawn.pint()
    except DimensionalityError:
        with pytest.raises(DataError):
            compile_expression(drawn.text, {})
        return
    except (ZeroDivisionError, OverflowError):
        return
    found = evaluate(compile_expression(drawn.text, {}), {}).value
    expected = units().Quantity(expected).to_base_units()

    assert found == pytest.approx(expected.magnitude, rel=1e-9, abs=1e-300)
    assert our_exponents(drawn.text) == exponents(expected)


POINTS = [
    # SI Brochure, 9th ed. (2019), 2.3.1: t/degC = T/K - 273.15; a difference is the same in both.
    ("60 degC - 20 degC == 40 K", True),
    ("60 degC - 20 K == 40 degC", True),
    ("10 K + 60 degC == 70 degC", True),
    ("60 degC + 10 K > 65 degC", True),
    ("max(60 degC, 80 degC) == 80 degC", True),
    ("(60 degC - 20 degC) / 8 == 5 K", True),
    ("100 degC == 373.15 K + 0 degC - 273.15 K", True),
]


@pytest.mark.parametrize(("text", "expected"), POINTS)
def test_temperatures_are_points_on_a_scale(text: str, expected: bool) -> None:
    """A difference of two temperatures is in kelvin; a point and a difference give a point."""
    assert evaluate(compile_expression(text, {}), {}).value is expected


@every(
    "text",
    [
        "60 degC + 20 degC",
        "10 K - 60 degC",
        "2 * 60 degC",
        "60 degC / 2",
        "60 degC ^ 2",
        "-(60 degC)",
        "abs(60 degC)",
        "sqrt(60 degC)",
        "60 degC > 10 K",
        "min(60 degC, 10 K)",
        "60 degC / 30 degC",
    ],
)
def test_what_makes_no_sense_of_a_temperature_is_refused(text: str) -> None:
    """A point can be neither scaled nor added to a point, nor compared with a difference."""
    with pytest.raises(DataError):
        compile_expression(text, {})


KINDS = {"x.rms": "A rms", "x.peak": "A peak", "x.rated": "A", "x.turns": "1/s", "x.ohm": "ohm"}


@every(
    "text",
    [
        "x.rms > 0.8 A",
        "x.peak > 0.8 A",
        "x.rated > 0.8 A",
        "x.rms > 800 mA rms",
        "x.rms > 0.9 * x.rms",
        "x.rms / x.rms > 1",
        "x.rms * x.ohm > 2 V",
        "1 V / x.ohm > x.rms",
        "min(x.rms, 1 A) < x.rms",
        "x.turns < 2 Hz",
    ],
)
def test_amperes_fit_their_own_basis_and_a_plain_literal(text: str) -> None:
    """A literal or a calculated current says nothing of its basis and fits each."""
    assert compile_expression(text, KINDS, expected="condition").kind.type == "flag"


@every(
    "text",
    [
        "x.rms > x.peak",
        "x.rms + x.peak > 1 A",
        "x.rms / x.peak > 1",
        "x.rms > x.rated",
        "x.peak < x.rated",
        "2 * x.rms > x.peak",
        "max(x.rms, x.peak) > 1 A",
        "x.rms > 0.8 A peak",
        "x.turns > 3 rad/s",
        "x.turns > 3 deg/s",
    ],
)
def test_amperes_of_two_bases_and_turns_with_radians_do_not_mix(text: str) -> None:
    """RMS, peak and a rating of an open basis are three things; turns are not radians."""
    with pytest.raises(DataError):
        compile_expression(text, KINDS)


def test_a_due_unit_is_held_to() -> None:
    """An expression for a fact must come out in the fact's unit and basis."""
    assert compile_expression("x.rms * 0.8", KINDS, expected="A rms").kind.sort == "rms"
    for expected in ("A peak", "mm", "condition", "text", "-"):
        with pytest.raises(DataError, match="is due"):
            compile_expression("x.rms * 0.8", KINDS, expected=expected)
