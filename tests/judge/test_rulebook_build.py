"""A rule file with a mistake is refused with file, line and remedy."""

from __future__ import annotations

import re
from typing import Any

import pytest
from every import every
from hypothesis import given, strategies as st
from rulebook_helpers import built, rule_row, yaml_of
from strategies import many

from advisor.base import DataError, Span

GOOD = {"when": "a.x > 1", "at": "a.x"}
FIX = {"set": "a.current", "to": "0.8 * a.current", "round": "down", "step": 0.01}
ORDER = [*rule_row(), *GOOD]  # the keys in the order of their lines; name is line 1
MISTAKES: list[tuple[dict[str, Any], str, str]] = [  # keys, key at the line, what is said
    ({"lable": "x"}, "lable", "unknown key 'lable'; did you mean 'level'?|known are"),
    ({"mesage": "x", "message": None}, "mesage", "did you mean 'message'?"),
    ({"why": None}, "name", "has no why; add 'why:'"),
    ({"examples": None}, "name", "has no examples"),
    ({"source": None}, "name", "has no source"),
    ({"name": "Some Rule"}, "name", "lower case with hyphens"),
    ({"level": "eror"}, "level", "did you mean 'error'?"),
    ({"level": "fatal"}, "level", "write one of error, warning, note"),
    ({"stage": "nozzle"}, "stage", "write one of text, motor"),
    ({"source": "Some Book"}, "source", "lower case with hyphens"),
    ({"scope": "printer"}, "scope", "write one of extruder, machine"),
    ({"when": None, "at": None}, "name", "neither when nor event"),
    ({"when": "a.y > 1"}, "when", "did you mean 'a.x'?"),
    ({"when": "a.x + a.flow > 1"}, "when", "cannot be added"),
    ({"when": "a.current > a.peak"}, "when", "do not fit together"),
    ({"when": "a.x + 1"}, "when", "a condition is due"),
    ({"at": None}, "name", "has no at"),
    ({"at": "a.xx"}, "at", "did you mean 'a.x'?"),
    ({"scope": "machine"}, "when", "there is no fact 'a.x'"),
    ({"event": "lost-fill"}, "event", "did you mean 'lost-file'?"),
    ({"event": "lost-file"}, "at", "has its place"),
    ({"message": "It is {a.xx}."}, "message", "did you mean 'a.x'?"),
    ({"message": "It is {a.x:valu}."}, "message", "did you mean 'value'?"),
    ({"message": "It is {a.x / a.flow}."}, "message", "no unit to be shown in"),
    ({"message": "It is {a.flow | mm}."}, "message", "is due"),
    ({"message": "It is {a.flow | furlong}."}, "message", "no unit we know"),
    ({"message": "It is {target}."}, "message", "nothing named 'target'"),
    ({"message": "It is {a.x."}, "message", "a brace stands alone"),
    ({"message": "It is {}."}, "message", "is no placeholder"),
    ({"message": "It is {a.x + 1:place}."}, "message", "is no fact"),
    ({"message": ""}, "message", "must be a text"),
    ({"advice": None}, "name", "says not what to do"),
    ({"advice": "Set {b.y}."}, "advice", "there is no fact 'b.y'"),
    ({"fix": {**FIX, "sett": 1}}, "fix", "did you mean 'set'?"),
    ({"fix": {**FIX, "set": "a.curent"}}, "fix", "did you mean 'a.current'?"),
    ({"fix": {**FIX, "set": "a.word"}}, "fix", "no number"),
    ({"fix": {**FIX, "to": "1 mm"}}, "fix", "is due"),
    ({"fix": {**FIX, "round": "of"}}, "fix", "write one of down, up, nearest"),
    ({"fix": {**FIX, "step": 0}}, "fix", "a number above 0"),
    ({"fix": {**FIX, "unit": "mm"}}, "fix", "unit' is 'mm'"),
    ({"grouped": True}, "grouped", "events can be grouped"),
    ({"supersedes": ["no-rule"]}, "name", "which is no other rule"),
    ({"supersedes": ["some-rule"]}, "name", "which is no other rule"),
    ({"examples": {"holds": [{}]}}, "examples", "has no fails"),
    ({"examples": {"holds": [], "fails": [{}]}}, "examples", "has no entry"),
    ({"examples": {"holds": [{"a.xx": 1}], "fails": [{}]}}, "examples", "did you mean 'a.x'?"),
    ({"examples": {"holds": [{"a.current": "1 mm"}], "fails": [{}]}}, "examples", "is in 'mm'"),
    ({"examples": {"holds": [{"a.current": "1"}], "fails": [{}]}}, "examples", "has no unit"),
    ({"examples": {"holds": [{"level": "bad"}], "fails": [{}]}}, "examples", "level is 'bad'"),
    ({"examples": {"holds": [{"key": "x"}], "fails": [{}]}}, "examples", "no fact and no field"),
    ({"examples": {"holds": [{"event": "odd-line"}], "fails": [{}]}}, "examples", "has none"),
]


@every(("keys", "key", "words"), MISTAKES)
def test_a_mistake_is_named_with_file_and_line(keys: dict[str, Any], key: str, words: str) -> None:
    """The line is that of the key in question; the remedy is in the sentence."""
    row = rule_row(**(GOOD | keys))
    with pytest.raises(DataError) as caught:
        built(yaml_of(row))

    error = caught.value
    assert error.at is not None
    assert (error.at.file, error.at.line) == ("rules/some.yaml", 1 + list(row).index(key))
    assert re.search(words, str(error)), str(error)


def test_a_mistake_in_a_condition_is_named_with_its_column() -> None:
    """In a folded text the line and column of the very word are found."""
    text = yaml_of(rule_row()) + "  at: a.x\n  when: >-\n    a.x > 1\n    and a.flow < 5 mm\n"
    with pytest.raises(DataError) as caught:
        built(text)

    line = len(rule_row()) + 4
    assert caught.value.at == Span("rules/some.yaml", line, 9)


@pytest.mark.parametrize("quote", ["", "'", '"'])
def test_a_mistake_in_a_quoted_text_is_found_behind_the_quote(quote: str) -> None:
    """The sign of the quotation is no part of the text."""
    text = yaml_of(rule_row(**GOOD, message=None)) + f"  message: {quote}It is {{a.xx}}.{quote}\n"
    with pytest.raises(DataError) as caught:
        built(text)

    assert caught.value.at is not None
    assert caught.value.at.column == len(f"  message: {quote}It is {{") + 1


def test_two_rules_of_one_name_are_refused() -> None:
    """The earlier place is named."""
    row = rule_row(**GOOD)
    with pytest.raises(DataError, match=r"is there already, in rules/some.yaml:1"):
        built(yaml_of(row, row))


def test_rules_that_supersede_each_other_are_refused() -> None:
    """Both would be silent."""
    one = rule_row(name="one", supersedes=["two"], **GOOD)
    two = rule_row(name="two", supersedes=["one"], **GOOD)
    with pytest.raises(DataError, match="supersede each other"):
        built(yaml_of(one, two))


@pytest.mark.parametrize("text", ["a: b", "- 1", "- [", "- name: x\n  name: y", "", "- {}"])
def test_a_file_of_another_shape_is_refused(text: str) -> None:
    """Not YAML, no list, no mapping, a key twice: a sentence with the place."""
    with pytest.raises(DataError) as caught:
        built(text)

    assert caught.value.at is not None
    assert caught.value.at.file == "rules/some.yaml"


values = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.text(max_size=8)
    | st.sampled_from(["a.x", "a.x > 1", "error", "{a.x}", "lost-file", "down"]),
    lambda part: st.lists(part, max_size=3) | st.dictionaries(st.text(max_size=5), part),
    max_leaves=5,
)  # fmt: skip
keys = st.sampled_from([*ORDER, "fix", "event", "words", "grouped", "supersedes", "scope", "odd"])


@many
@given(st.dictionaries(keys, values, max_size=4))
def test_any_keys_are_compiled_or_refused_with_a_place(changes: dict[str, Any]) -> None:
    """A rule with arbitrary values never breaks the compiler."""
    row = {**rule_row(**GOOD), **changes}
    rows, error = attempt(yaml_of(row))

    assert (rows is None) == (error is not None)
    if error is not None:
        assert error.at is not None
        assert error.at.file == "rules/some.yaml"


def attempt(text: str) -> tuple[list[dict[str, Any]] | None, DataError | None]:
    try:
        return built(text), None
    except DataError as error:
        return None, error
