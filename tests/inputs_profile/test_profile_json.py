"""The JSON reader: the same values as the standard library, and true places."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st
from strategies import many
from tiers import examples

from advisor.base import ProfileError
from advisor.inputs.profile.texts import parse_json

tries = settings(many, max_examples=examples(20, 120, 2000))
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
SCALAR = TEXT | st.integers(-999, 999) | st.booleans() | st.none()
VALUE = st.recursive(
    SCALAR, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3)
)
OBJECT = st.dictionaries(TEXT, VALUE, max_size=6)


def words(value: Any) -> str:
    return (
        {True: "1", False: "0", None: ""}[value] if isinstance(value, bool | None) else str(value)
    )


@given(OBJECT, st.sampled_from([None, 0, 1, "\t"]), st.booleans())
@tries
def test_values_and_places(data: dict[str, Any], indent: Any, ascii_only: bool) -> None:
    """Every scalar has the standard library's value, and the place shows its key."""
    text = json.dumps(data, indent=indent, ensure_ascii=ascii_only)
    (section,) = parse_json(text, "x.json")
    lines = text.split("\n")

    scalars = {k: v for k, v in data.items() if not isinstance(v, dict | list)}
    assert {k: section.settings[k].text for k in scalars} == {
        k: words(v).strip() for k, v in scalars.items()
    }
    for key, setting in section.settings.items():
        at = setting.at
        shown = lines[at.line - 1][at.column - 1 : (at.end_column or 0) - 1]
        assert json.loads(shown) == key


def test_lists_and_numbers_keep_their_text() -> None:
    """Elements of a list are kept apart; a number keeps the digits it was written in."""
    (section,) = parse_json('{"a": ["12", 14, "x, y"], "b": 1.50, "c": true, "d": []}', "x.json")

    assert section.settings["a"].items == ("12", "14", "x, y")
    assert section.settings["b"].text == "1.50"
    assert section.settings["c"].text == "1"
    assert section.settings["d"].items == ()


def test_nested_objects_are_no_settings() -> None:
    """What is nested is passed over, and its keys are not mistaken for outer ones."""
    text = '{"x": {"a": "1"},\n "y": [{"a": "2"}],\n "a": "3",\n "z": {"a": "4"}}'
    (section,) = parse_json(text, "x.json")

    assert {key: setting.text for key, setting in section.settings.items()} == {"a": "3"}
    assert (section.settings["a"].at.line, section.settings["a"].at.column) == (3, 2)


def test_a_list_of_objects_gives_one_section_each() -> None:
    """Each object of an outer list is read, with places of its own."""
    first, second = parse_json('[{"a": "1"},\n {"a": "2"}]', "x.json")

    assert (first.settings["a"].at.line, second.settings["a"].at.line) == (1, 2)
    assert second.settings["a"].text == "2"


def test_a_repeated_key_is_remembered() -> None:
    """The later value counts, as in the standard library, and the place is the later one's."""
    (section,) = parse_json('{"a": "1",\n "a": "2"}', "x.json")

    assert section.settings["a"].text == json.loads('{"a": "1", "a": "2"}')["a"]
    assert section.settings["a"].at.line == 2
    assert len(section.repeats) == 1


BROKEN = [
    '{"a": "1"',
    '{\n "a": "1",\n}',
    '{\n "a" "1"}',
    '{"a": "1"}}',
    "{'a': 1}",
    '{"a":\n "x\ny"}',
    "{",
]


@pytest.mark.parametrize("text", BROKEN)
def test_broken_json_is_told_with_its_place(text: str) -> None:
    """The error names the place that the standard library's reader names."""
    with pytest.raises(json.JSONDecodeError) as theirs:
        json.loads(text)
    with pytest.raises(ProfileError, match="broken JSON") as ours:
        parse_json(text, "x.json")

    at = ours.value.at
    assert at is not None
    assert (at.line, at.column) == (theirs.value.lineno, theirs.value.colno)


@pytest.mark.parametrize("text", ["[" * 100_000, '{"a":' * 100_000])
def test_deep_json_is_refused(text: str) -> None:
    """Nesting without end is an error in one sentence, not a crash."""
    with pytest.raises(ProfileError, match="nests deeper"):
        parse_json(text, "x.json")
