"""How single lines are read: every oddity that a survey of public configs met, by name."""

from __future__ import annotations

import pytest
from every import every

from advisor.base import Span
from advisor.config import Document, Section, Setting, read_document


def read(text: str) -> Document:
    return read_document(text.encode(), "x.cfg")


def section(text: str) -> Section:
    return read(text).sections[0]


def setting(line: str) -> Setting:
    found = section(f"[s]\n{line}\n").settings
    assert len(found) == 1, found
    return found[0]


def kinds(text: str) -> list[str]:
    return [event.kind for event in read(text).events]


@every(
    ("line", "key", "value"),
    [
        ("k: v", "k", "v"),
        ("k:v", "k", "v"),
        ("k : v", "k", "v"),
        ("k = v", "k", "v"),
        ("k=v", "k", "v"),
        ("k :v", "k", "v"),
        ("k =v", "k", "v"),
        ("k= v", "k", "v"),
        ("k\t:\tv", "k", "v"),
        ("k:          v", "k", "v"),
        ("k:", "k", ""),
        ("two words: v", "two words", "v"),
        ("step_pin: board: PA15", "step_pin", "board: PA15"),
        ("serial: /dev/by-path/a:1.0-b", "serial", "/dev/by-path/a:1.0-b"),
        ("gear_ratio = 50:17", "gear_ratio", "50:17"),
        ("k: a=b", "k", "a=b"),
        ("k = a: b", "k", "a: b"),
        ("rotation_distance:\u00a010", "rotation_distance", "10"),
        ("k: v   ", "k", "v"),
        ("k: v\t", "k", "v"),
        ("k: 20 % {x} ${y} {{ z }}", "k", "20 % {x} ${y} {{ z }}"),
        ("k: \u201cv\u201d", "k", "\u201cv\u201d"),
        ("k: a\u2028b", "k", "a\u2028b"),
    ],
)
def test_delimiter_is_the_first_colon_or_equals_sign(line: str, key: str, value: str) -> None:
    """Blanks and tabs around the delimiter do not matter, later delimiters are value."""
    found = setting(line)

    assert (found.key, found.value) == (key, value)


@every(
    ("line", "value"),
    [
        ("run_current: 0.85#0.5", "0.85"),
        ("step_distance: 0.005263# .010526", "0.005263"),
        ("stealthchop_threshold: 0#stealthchop_threshold: 50", "0"),
        ("k: 50:10 # 50:17 for the other one", "50:10"),
        ("k: 0.8 ; was 0.5", "0.8"),
        ("k: 0.8\t; was 0.5", "0.8"),
        ("k: 0.8;0.5", "0.8;0.5"),
        ("k: a;b ; c", "a;b"),
        ("k: 0.8 ;# both", "0.8"),
        ("k: # only a comment", ""),
        ("k: ; only a comment", ""),
        ("k:;text", ";text"),
        ("k: [t] # no header", "[t]"),
    ],
)
def test_comment_after_a_value_is_cut(line: str, value: str) -> None:
    """'#' begins a comment everywhere, ';' only after a blank."""
    assert setting(line).value == value


def test_span_of_a_value_covers_its_characters_only() -> None:
    """Columns count characters from 1; the comment and the blanks before it stay out."""
    found = section("[s]\n  K\u00e4y :  0.85  # 0.5\n").settings[0]

    assert found.value_span == Span("x.cfg", 2, 10, 14)
    assert found.key_span == Span("x.cfg", 2, 3, 6)
    assert found.delimiter == ":"
    assert found.raw_key == "K\u00e4y"


def test_span_of_an_empty_value_is_where_it_would_stand() -> None:
    """An empty value has a place of no width, one blank after the delimiter."""
    assert section("[s]\nk:  # c\n").settings[0].value_span == Span("x.cfg", 2, 4, 4)
    assert section("[s]\nk:\n").settings[0].value_span == Span("x.cfg", 2, 3, 3)


@pytest.mark.parametrize("key", ["pid_Kp", "driver_TBL", "Gear_ratio"])
def test_keys_are_lower_case_and_remember_how_they_were_written(key: str) -> None:
    """Keys compare in lower case."""
    found = setting(f"{key}: 1")

    assert found.key == key.lower()
    assert found.raw_key == key


@every(
    ("header", "name"),
    [
        ("[extruder]", "extruder"),
        ("[extruder]  # main", "extruder"),
        ("[extruder]# main", "extruder"),
        ("[extruder] ; main", "extruder"),
        ("[extruder]   ", "extruder"),
        ("[ extruder ]", " extruder "),
        ("[driver  extruder]", "driver  extruder"),
        ("[driver\textruder]", "driver\textruder"),
        ("[stepper_Z]", "stepper_Z"),
        ("[stepper_{{ name }}]", "stepper_{{ name }}"),
        ("[board A]", "board A"),
        ("[a] [b]", "a] [b"),
        ("[a:b=c]", "a:b=c"),
    ],
)
def test_section_name_is_what_stands_between_the_brackets(header: str, name: str) -> None:
    """Names are exact: capitals and blanks are kept, the comment is not."""
    found = section(f"{header}\nk: 1\n")

    assert found.name == name
    assert [one.key for one in found.settings] == ["k"]


@pytest.mark.parametrize("line", ["[a", "[a # ]", "[a ; ]", "[]"])
def test_bracket_that_does_not_close_is_no_header(line: str) -> None:
    """A bracket that closes only in the comment, or around nothing, makes no header."""
    document = read(f"[s]\n{line}\nk: 1\n")

    assert [one.name for one in document.sections] == ["s"]
    assert [event.kind for event in document.events] == ["stray-line"]


def test_header_span_includes_the_brackets() -> None:
    """A finding on a missing setting points at the header."""
    assert section("\n[extruder]  # main\n").header == Span("x.cfg", 2, 1, 11)


def test_text_after_a_header_is_noted() -> None:
    """A setting on the header's own line is not read, and that is said."""
    document = read("[s] k: 1\n")

    assert document.sections[0].settings == ()
    assert [(e.kind, e.fields["text"]) for e in document.events] == [("text-after-header", "k: 1")]


def test_indented_lines_continue_the_value() -> None:
    """Lines are stripped and joined; comments are cut, blank lines are kept within."""
    found = section("[m]\ngcode:\n    G28 ; home\n\n\tG1 X5 # go\n# c\n  ; d\n  M400\n\n").settings[
        0
    ]

    assert found.value == "\nG28\n\nG1 X5\n\nM400"
    assert found.extra_lines == ("G28", "", "G1 X5", "", "M400")


def test_comment_at_column_1_does_not_end_a_body() -> None:
    """Commented-out lines within a body are normal."""
    found = section("[m]\ngcode:\n  G28\n#  G29\n  G30\nk: 1\n").settings

    assert [one.key for one in found] == ["gcode", "k"]
    assert found[0].value == "\nG28\n\nG30"


def test_first_key_after_a_header_may_be_indented() -> None:
    """The first setting sets the indentation; deeper lines continue it, equal ones do not."""
    found = section("[s]\n  a: 1\n  b: 2\n    more\nc: 3\n").settings

    assert [(one.key, one.value) for one in found] == [("a", "1"), ("b", "2\nmore"), ("c", "3")]


def test_indented_header_after_a_key_is_continuation() -> None:
    """The keys below it belong to the section above, and that is said."""
    document = read("[a]\nk: 1\n  [b]\nj: 2\n")
    found = document.sections

    assert [one.name for one in found] == ["a"]
    assert [one.value for one in found[0].settings] == ["1\n[b]", "2"]
    assert [event.kind for event in document.events] == ["swallowed-header"]
    assert document.events[0].at == Span("x.cfg", 3, 3, 6)


def test_indented_header_after_a_header_counts() -> None:
    """Nothing is open that it could continue."""
    assert [one.name for one in read("[a]\n  [b]\n").sections] == ["a", "b"]


def test_swallowed_line_is_noted_where_it_stands() -> None:
    """An indented setting after a scalar makes that scalar two lines long."""
    document = read("[s]\nk: 0.8\n   j: 5  # c\n")

    assert document.sections[0].settings[0].value == "0.8\nj: 5"
    (event,) = document.events
    assert event.kind == "swallowed-line"
    assert event.at == Span("x.cfg", 3, 4, 13)
    assert event.fields == {"section": "s", "key": "k", "text": "j: 5"}


@every(
    "text",
    [
        "[s]\naliases:\n  E1=P1, E2=P2\n  E3=P3\n",
        "[s]\naliases: E1=P1, E2=P2,\n  E3=P3, E4=P4\n",
        "[s]\naliases: E1,\n  e2=p2, e3=p3\n",
        "[s]\ngcode:\n  var: 1\n",
        "[s]\ngcode: {% if x %}\n  set: 1\n",
        "[s]\nk: 1\n  M117 at: 5\n",
        "[s]\nk: 1\n  {name}: 5\n",
        "[s]\nk: 1\n  E1=P1\n",
        "[s]\nk: 1\n  a == b\n",
        "[s]\nhelp: 1\n  [X=<a>] [Y=<b>]\n",
        "[s]\npoints: 1, 2\n  3, 4\n",
    ],
)
def test_bodies_and_alias_lists_are_not_reported(text: str) -> None:
    """Macro bodies, templates, point lists and NAME=pin lists are no mistakes."""
    assert kinds(text) == []


def test_keys_under_a_commented_out_header_belong_to_the_live_one() -> None:
    """A commented-out header is a comment."""
    found = section("[a]\nk: 1\n#[b]\nj: 2\n")

    assert [one.key for one in found.settings] == ["k", "j"]


def test_commented_out_keys_are_no_settings() -> None:
    """Neither '#key: v' nor '; key: v' is live."""
    assert section("[a]\n#k: 1\n# k: 1\n;k: 1\n  # k: 1\n").settings == ()


def test_merge_markers_are_one_event_a_conflict() -> None:
    """Both sides are read, the later one wins, and the conflict is named once."""
    document = read("[s]\n<<<<<<< HEAD\nk: 1\n=======\nk: 2\n>>>>>>> side\nj: 3\n=======\n")

    assert [one.value for one in document.sections[0].settings] == ["1", "2", "3"]
    assert [(e.kind, e.at.line) for e in document.events] == [
        ("merge-marker", 2),
        ("merge-marker", 8),
    ]


def test_stray_word_does_not_stop_the_reading() -> None:
    """The standard library's reader would refuse the whole file."""
    document = read("[s]\nk: 1\nword\nother\nj: 2\n")

    assert [one.key for one in document.sections[0].settings] == ["k", "j"]
    assert [(e.kind, e.at.line, dict(e.fields)) for e in document.events] == [
        ("stray-line", 3, {"text": "word", "count": "2"})
    ]


def test_empty_key_is_noted() -> None:
    """A line that begins with a delimiter has no key."""
    document = read("[s]\n: 5\nk: 1\n")

    assert [one.key for one in document.sections[0].settings] == ["k"]
    assert [event.kind for event in document.events] == ["empty-key"]


def test_settings_before_any_section_are_noted_once() -> None:
    """They belong nowhere; the firmware would refuse the file."""
    document = read("k: 1\nj: 2\n[s]\ni: 3\n")

    assert [one.key for one in document.sections[0].settings] == ["i"]
    assert [(e.kind, e.fields["count"]) for e in document.events] == [("key-outside-section", "2")]


@pytest.mark.parametrize(
    "text",
    [
        "../other/printer.cfg",
        "Notes on the machine.\nIt prints: well.\n",
        "G28\nG1 X5 E3 F300\nM104 S200\n",
        "max_speed = 300\nnozzle = 0.4\n",
    ],
)
def test_file_that_is_no_config_says_so_once(text: str) -> None:
    """Prose, a bare path, G-code or another tool's settings make one event, not hundreds."""
    assert kinds(text) == ["no-section"]


def test_notes_above_the_first_section_do_not_hide_it() -> None:
    """Notes at the top are noted, the rest is read."""
    document = read("My notes\n\n[s]\nk: 1\n")

    assert [one.key for one in document.sections[0].settings] == ["k"]
    assert [event.kind for event in document.events] == ["stray-line"]


@pytest.mark.parametrize("text", ["", "\n\n", "# only comments\n; and more\n"])
def test_empty_config_has_nothing_to_say(text: str) -> None:
    """An override file with everything commented out is normal."""
    document = read(text)

    assert document.sections == ()
    assert document.events == ()


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_all_line_ends_read_the_same(end: str) -> None:
    """LF, CRLF and CR alone end lines; values never hold one."""
    found = section(end.join(("[s]", "k: 1", "j:", "  a", "  b")))

    assert [one.value for one in found.settings] == ["1", "\na\nb"]


@pytest.mark.parametrize("blank", ["\u2028", "\u2029", "\x85", "\x0b", "\x0c", "\x1c", "\x1e"])
def test_other_separators_do_not_end_a_line(blank: str) -> None:
    """What str.splitlines would split at is a blank within a line, as in the firmware."""
    found = section(f"[s]\nk: a{blank}b\nj: 2\n")

    assert [one.value for one in found.settings] == [f"a{blank}b", "2"]
    assert found.settings[1].value_span.line == 3


def test_quoted_and_templated_values_come_out_as_they_are() -> None:
    """The reader judges no value."""
    text = '[s]\na: "0.8"\nb: {{ common.run_current }}\nc: 0,8\nd: 0.8A\ne: ????\n'

    assert [one.value for one in section(text).settings] == [
        '"0.8"', "{{ common.run_current }}", "0,8", "0.8A", "????",
    ]  # fmt: skip


def test_default_section_is_one_like_any_other() -> None:
    """Its keys do not leak into other sections (the standard library's would)."""
    found = read("[DEFAULT]\nk: 1\n[s]\nj: 2\n").sections

    assert [(one.name, len(one.settings)) for one in found] == [("DEFAULT", 1), ("s", 1)]


def test_long_line_is_read_whole() -> None:
    """Stored sensor models fill lines of thousands of digits."""
    value = ", ".join(["0.123456"] * 20_000)

    assert setting(f"model: {value}").value == value
