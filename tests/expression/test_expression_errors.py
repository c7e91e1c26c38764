"""Mistakes in expressions: each is named with its place and a remedy, whatever the text."""

from __future__ import annotations

import importlib
import re

import pytest
from every import every
from fresh import wanted_by
from hypothesis import given, strategies as st
from strategies import many

from advisor.base import DataError, Fact, Span
from advisor.catalog import load_catalog
from advisor.expression import Compiled, compile_expression, evaluate

VOCABULARY = {
    "motor.run_current": "A rms",
    "motor.class": "",
    "flow.melt": "mm3/s",
    "hotend.temperature": "degC",
}
MISTAKES = [  # text, column of the mistake, what the message says
    ("motor.runcurrent > 1 A", 1, "did you mean 'motor.run_current'?"),
    ("missing(motor.run_curent)", 9, "did you mean 'motor.run_current'?"),
    ("motor.run_current > 5 mm", 1, r"'A rms' and 'm' do not fit together"),
    ("flow.melt + motor.run_current", 1, r"'m3 s-1' and 'A rms' cannot be added"),
    ("1 mm - 1 s", 1, "'m' and 's' cannot be subtracted"),
    ("flow.melt < 24 mm3 / s", 22, "without blanks"),
    ("flow.melt < 24 mm3 s", 1, "'m3 s-1' and 'm3 s' do not fit together"),
    ("flow.melt < 24 furlong", 16, "no unit we know"),
    ("motor.run_current = 1 A", 19, "write '=='"),
    ("flow.melt > 1 && true", 15, "write 'and'"),
    ("flow.melt > 1 || true", 15, "write 'or'"),
    ("!true", 1, "write 'not'"),
    ("2 ** 3", 4, "write '\\^'"),
    ("1 \u2264 2", 3, "write '<='"),
    ("0,8 A", 2, "decimal point"),
    ("(1 + 2", 7, "close the bracket"),
    ("1 + 2)", 6, "open this bracket"),
    ("1 +", 4, "ends too soon"),
    ("motor.class == 'round", 16, "close the quotes"),
    ("motor.class > 'a'", 1, "a text has no order"),
    ("motor.class + 1", 1, "a text is no number"),
    ("flow.melt in ('a')", 1, "looks a text up"),
    ("flow.melt and true", 1, "join conditions"),
    ("not flow.melt", 5, "join conditions"),
    ("minimum(1, 2)", 1, "did you mean 'min"),
    ("abs(1, 2)", 1, "takes one value"),
    ("stated(1 A)", 1, "the name of one fact"),
    ("2 ^ flow.melt", 5, "must be a plain number"),
    ("flow.melt ^ 0.5", 1, "whole number"),
    ("flow.melt ^ 9", 1, "whole number"),
    ("sqrt(flow.melt)", 6, "has no square root"),
    ("2 * hotend.temperature", 1, "a temperature cannot be multiplied"),
    ("1e999", 1, "too large"),
    ("1 A 2 A", 5, "does not fit here"),
    ("", 1, "is empty"),
    ("   ", 1, "is empty"),
    ("(" * 50 + "1" + ")" * 50, 41, "nest too deep"),
    ("1" + " + 1" * 100, 1, "nests too deep"),
    ("1" + " " * 2000, 2001, "keep it under"),
]


@every(("text", "column", "words"), MISTAKES)
def test_a_mistake_is_named_with_its_column(text: str, column: int, words: str) -> None:
    """File, line and column of the mistake, the problem, and a remedy."""
    with pytest.raises(DataError) as caught:
        compile_expression(text, VOCABULARY, at=Span("rules/x.yaml", 12, 5))

    error = caught.value
    assert error.at == Span("rules/x.yaml", 12, 4 + column)
    assert re.search(words, str(error)), str(error)
    assert error.remedy


def test_a_place_may_be_reckoned_by_the_caller() -> None:
    """Folded YAML has its own lines: the caller turns an offset into a place."""
    with pytest.raises(DataError) as caught:
        compile_expression("1 A +  2 mm", {}, at=lambda offset: Span("f", 10 + offset, 3))

    assert caught.value.at == Span("f", 10, 3)


any_text = st.text(max_size=60)
PIECES = """
    motor.run_current motor.class flow.melt hotend.temperature 1 0.8_A 24_mm3/s 60_degC 10_K 5_% 'a'
    and or not in ( ) + - * / ^ < <= == != , min( sqrt( abs( stated( missing( true . 1e400
"""
words = st.lists(
    st.sampled_from([piece.replace("_", " ", piece[0].isdigit()) for piece in PIECES.split()]),
    max_size=14,
)


@many
@given(st.one_of(any_text, words.map(" ".join), words.map("".join)))
def test_any_text_compiles_or_is_refused_with_a_place(text: str) -> None:
    """Nothing else happens: no traceback, no hang; what compiles can be evaluated."""
    compiled, error = attempt(text)
    if compiled is None:
        assert error is not None
        assert error.at is not None
        assert 1 <= error.at.column <= len(text) + 1
        assert error.remedy
        return
    facts = {"motor.run_current": Fact.of("motor.run_current", "A rms", 0.8)}
    assert set(evaluate(compiled, facts).facts) <= compiled.facts


def attempt(text: str) -> tuple[Compiled | None, DataError | None]:
    try:
        return compile_expression(text, VOCABULARY), None
    except DataError as error:
        return None, error


def test_the_vocabulary_may_hold_the_catalogues_records() -> None:
    """Names with units, or with records of unit and type: both describe facts."""
    facts = load_catalog().facts
    plain = compile_expression("motor.run_current > 1 A", VOCABULARY)

    assert compile_expression("motor.run_current > 1 A", facts) == plain
    assert compile_expression("driver.interpolate", facts, expected="condition").kind.type == "flag"


def test_evaluating_needs_no_parser() -> None:
    """Compiled data is read and evaluated without lark, and imported without numpy."""
    kind = ["number", [0] * 6, None]
    with wanted_by("lark", "numpy") as wanted:
        importlib.import_module("advisor.expression")
    assert wanted == set()
    with wanted_by("lark") as wanted:
        anew = importlib.import_module("advisor.expression")
        compiled = anew.Compiled.from_json(["1", ["number", 1.0], kind, [], []])
        assert anew.evaluate(compiled, {}).value == 1

    assert wanted == set()
