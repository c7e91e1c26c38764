"""The ini reader: the same values as the standard library where both read, and true places."""

from __future__ import annotations

import configparser
import re

from every import every
from hypothesis import given, settings, strategies as st
from strategies import many
from tiers import examples

from advisor.inputs.profile.texts import IniSection, elements, parse_ini

tries = settings(many, max_examples=examples(20, 120, 2000))
KEY = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)
VALUE = st.text(st.sampled_from("abc 0.9;#%=,[]{}\"'!:\\n\u00e4"), max_size=12)
PAIR = st.tuples(KEY, VALUE)
BLANK = st.sampled_from(["", "# note", "; k = v", "   "])
NAME = st.text(st.sampled_from("ab @%*:[]\u00e4"), min_size=1, max_size=8).filter(str.strip)


def flat(sections: list[IniSection]) -> dict[str, dict[str, str]]:
    return {
        section.name: {key: setting.text for key, setting in section.settings.items()}
        for section in sections
        if section.settings
    }


def reference(text: str) -> dict[str, dict[str, str]]:
    """Return what configparser (Python standard library) reads, with a header put before."""
    parser = configparser.RawConfigParser(
        delimiters=("=",), comment_prefixes=("#", ";"), strict=False, default_section="\0"
    )
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read_string("[\1]\n" + text)
    return {
        name.replace("\1", ""): dict(parser.items(name))
        for name in parser.sections()
        if parser.items(name)
    }


@st.composite
def documents(draw: st.DrawFn) -> str:
    blocks = draw(st.lists(st.tuples(NAME, st.lists(PAIR, max_size=4), BLANK), max_size=4))
    top = draw(st.lists(PAIR, max_size=3))
    equals = draw(st.sampled_from(["=", " = ", "= "]))
    lines = [key + equals + value for key, value in top]
    for name, pairs, blank in blocks:
        lines += [f"[{name}]", blank, *(key + equals + value for key, value in pairs)]
    return "\n".join(lines)


@given(documents())
@tries
def test_same_values_as_the_standard_library(text: str) -> None:
    """Where every line has a delimiter, both read the same sections, keys and values."""
    ours, theirs = flat(parse_ini(text, "x.ini")), reference(text)

    assert ours == theirs


@given(documents(), st.sampled_from(["\n", "\r\n", "\r"]))
@tries
def test_the_place_is_where_the_key_stands(text: str, end: str) -> None:
    """Cutting the line at the place gives the key back, whatever the line ends."""
    lines = text.split("\n")
    for section in parse_ini(text.replace("\n", end), "x.ini"):
        for key, setting in section.settings.items():
            line = lines[setting.at.line - 1]
            assert line[setting.at.column - 1 : (setting.at.end_column or 0) - 1] == key


def test_continuation_lines_are_those_of_the_standard_library() -> None:
    """A line indented deeper than its key goes on with the value; G-code in it states nothing."""
    text = "[alterations]\nstart = G21\n\tG1 F=3\n\tM109 S210\nend = M84\n[profile]\nlayer = 0.2\n"

    assert flat(parse_ini(text, "x.ini")) == reference(text)
    assert flat(parse_ini(text, "x.ini"))["alterations"] == {
        "start": "G21\nG1 F=3\nM109 S210",
        "end": "M84",
    }


def test_an_indented_key_we_know_is_a_setting() -> None:
    """A whole block that is indented, with keys we know, is read."""
    text = "a = 1\n  layer_height = 0.2\n  other = 3\n"

    sections = parse_ini(text, "x.ini", wanted={"a", "layer_height"})

    assert flat(sections) == {"": {"a": "1", "layer_height": "0.2"}}


def test_names_of_sections_may_hold_brackets_and_more() -> None:
    """A name runs to the last bracket: blanks, '@', '%', '[' and other letters belong to it."""
    sections = parse_ini("[print:0.2 mm [fast] @x 50% \u00e4]\nk = 1\n", "x.ini")

    assert [s.name for s in sections if s.settings] == ["print:0.2 mm [fast] @x 50% \u00e4"]


def test_a_block_of_comments_is_read_only_if_nothing_is_live() -> None:
    """`; key = value` counts in a text without a live line, and nowhere else."""
    commented = "; generated\n; layer_height = 0.2\n; nozzle = 0.4,0.6\n"

    assert flat(parse_ini(commented, "x.ini")) == {"": {"layer_height": "0.2", "nozzle": "0.4,0.6"}}
    assert flat(parse_ini(commented + "a = 1\n", "x.ini")) == {"": {"a": "1"}}


def test_a_value_stated_twice_is_remembered() -> None:
    """The later value counts; the pair is kept, unless both are the same."""
    section = parse_ini("a = 1\nb = 2\na = 3\nb = 2\n", "x.ini")[0]

    assert [(old.text, new.text, new.at.line) for old, new in section.repeats] == [("1", "3", 3)]


@every(
    ("text", "expected"),
    [
        ("12", ("12",)),
        ("12,14", ("12", "14")),
        ("12;14", ("12", "14")),
        ('"a;b","c, d"', ("a;b", "c, d")),
        ('"PLA";"PETG"', ("PLA", "PETG")),
        ("", ("",)),
        ("=max(1, 2)", ("=max(1, 2)",)),
        ("{a, b}", ("{a, b}",)),
    ],
)
def test_elements_of_a_list(text: str, expected: tuple[str, ...]) -> None:
    """Commas and semicolons part the elements, outside of quotes and expressions."""
    assert elements(text) == expected


@given(st.text())
@tries
def test_any_text_is_read_without_failing(text: str) -> None:
    """The reader never fails, and what it keeps stood in the text."""
    lines = re.split(r"\r\n|\n|\r", text)
    for section in parse_ini(text, "x.ini"):
        for setting in section.settings.values():
            assert setting.key in lines[setting.at.line - 1]
