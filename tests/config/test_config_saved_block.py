"""The saved block at the end of a config: read by its exact form only."""

from __future__ import annotations

import pytest
from strategies import SAVED_NOTICE, SAVED_TITLE

from advisor.config import Document, Tree, read_document, read_tree_from_bytes

HEADING = f"{SAVED_TITLE}\n{SAVED_NOTICE}\n#*#\n"
BODY = "[extruder]\ncontrol: watermark\nmax_power: 1\n\n"


def read(text: str) -> Document:
    return read_document(text.encode(), "x.cfg")


def tree(text: str) -> Tree:
    return read_tree_from_bytes(text.encode(), "x.cfg")


def events(text: str) -> list[tuple[str, int]]:
    return [(event.kind, event.at.line) for event in read(text).events]


def test_block_is_read_behind_its_marks() -> None:
    """Sections, settings, point lists and blank marks within them are read."""
    text = f"{BODY}{HEADING}#*# [mesh a]\n#*# points =\n#*# \t0.1, 0.2\n#*#\n#*# \t0.3\n#*# x = 1\n"
    document = read(text)

    assert [one.name for one in document.saved] == ["mesh a"]
    assert [(one.key, one.value) for one in document.saved[0].settings] == [
        ("points", "\n0.1, 0.2\n\n0.3"),
        ("x", "1"),
    ]
    assert all(one.from_saved_block for one in document.saved[0].settings)
    assert document.events == ()


def test_places_in_the_block_count_the_mark() -> None:
    """The column is the one an editor shows."""
    setting = read(f"{BODY}{HEADING}#*# [s]\n#*# kp = 20.5\n").saved[0].settings[0]

    assert (setting.value_span.line, setting.value_span.column) == (9, 10)
    assert setting.value_span.end_column == 14


def test_live_value_beats_the_saved_one() -> None:
    """A key live in the body and in the block has the body's value, and that is said."""
    found = tree(f"{BODY}{HEADING}#*# [extruder]\n#*# control = pid\n#*# pid_kp = 20\n")

    control = found.find("extruder", "control")
    assert control is not None
    assert control.value == "watermark"
    assert [one.value for one in found.all("extruder", "control")] == ["pid", "watermark"]
    assert found.find("extruder", "pid_kp") is not None
    assert [(e.kind, e.at.line, e.fields["first_line"]) for e in found.duplicates()] == [
        ("saved-setting-unused", 2, "9")
    ]


def test_section_that_is_only_saved_is_there() -> None:
    """A mesh stands only in the block."""
    found = tree(f"{BODY}{HEADING}#*# [mesh]\n#*# x = 1\n")

    assert found.section_names == ("extruder", "mesh")
    header = found.header("mesh")
    assert header is not None
    assert (header.line, header.column) == (8, 5)


@pytest.mark.parametrize(
    ("rest", "line"),
    [
        ("#*# [s]\n\n#*# x = 1\n", 9),
        ("#*# [s]\nx = 1\n", 9),
        ("#*# [s]\n# note\n", 9),
        ("#*# [s]\n#*#x = 1\n", 9),
        (" #*# [s]\n", 8),
        ("\n[after]\nk: 1\n", 9),  # the line with text, not the blank one before it
    ],
)
def test_line_without_the_mark_makes_the_whole_block_ignored(rest: str, line: int) -> None:
    """One line that does not begin with the mark and a blank, and nothing of it is read."""
    document = read(BODY + HEADING + rest)
    ignored = [event for event in document.events if event.kind == "saved-block-ignored"]

    assert document.saved == ()
    assert [(e.at.line, e.fields["other_line"]) for e in ignored] == [(5, str(line))]


def test_text_after_the_block_is_live_and_said_at_its_first_line() -> None:
    """Sections added at the end of the file spoil the block but are read themselves."""
    text = f"{BODY}{HEADING}#*# [s]\n#*# x = 1\n\n# note\n[after]\nk: 1\n"
    document = read(text)

    assert [one.name for one in document.sections] == ["extruder", "after"]
    assert events(text) == [("saved-block-ignored", 5), ("text-after-saved-block", 12)]


def test_blank_lines_after_the_block_do_no_harm() -> None:
    """Only blanks follow: the block counts."""
    assert len(read(f"{BODY}{HEADING}#*# [s]\n#*# x = 1\n\n  \n\n").saved) == 1


@pytest.mark.parametrize(
    "title",
    [
        "#*# <--------------------- SAVE_CONFIG --------------------->",
        "#*# <---------------------- save_config ---------------------->",
        SAVED_TITLE + " ",
        SAVED_TITLE.replace("#*# ", "#*#  "),
    ],
)
def test_title_counts_only_in_its_exact_form(title: str) -> None:
    """One dash less, and the marked lines are a block that lost its title."""
    text = f"{BODY}{title}\n#*# [s]\n#*# x = 1\n"

    assert read(text).saved == ()
    assert events(text) == [("saved-block-corrupt", 5)]


def test_block_that_lost_its_title_is_not_read() -> None:
    """Live sections after the marked lines are read and pointed out."""
    text = f"{BODY}#*# [s]\n#*# x = 1\n[after]\nk: 1\n"

    assert [one.name for one in read(text).sections] == ["extruder", "after"]
    assert read(text).saved == ()
    assert events(text) == [("saved-block-corrupt", 5), ("text-after-saved-block", 7)]


def test_marked_line_above_the_title_spoils_the_block() -> None:
    """The firmware calls the state corrupted and reads none of it."""
    text = f"[s]\n#*# old = 1\nk: 1\n{HEADING}#*# [t]\n#*# x = 1\n"

    assert read(text).saved == ()
    assert ("saved-block-corrupt", 2) in events(text)


@pytest.mark.parametrize(("mark", "count"), [("#*# ", 0), ("#*#", 1), ("#*#x", 1), ("##*# x", 1)])
def test_only_the_mark_with_a_blank_spoils_the_block(mark: str, count: int) -> None:
    """Above the title, the mark alone is a comment like any other."""
    assert len(read(f"[s]\n{mark}\n{HEADING}#*# [t]\n#*# x = 1\n").saved) == count


def test_empty_block_cut_off_in_its_heading_is_corrupt() -> None:
    """The heading is right, but its last line has no line end."""
    assert events(BODY + HEADING.rstrip("\n")) == [("saved-block-corrupt", 5)]
    assert events(BODY + HEADING) == []


def test_second_title_is_text_within_the_first_block() -> None:
    """Two saved blocks in a row: the second title is a stray line of the first block."""
    second = f"{HEADING}#*# [t]\n#*# y = 2\n"
    document = read(f"{BODY}{HEADING}#*# [s]\n#*# x = 1\n{second}")

    assert [one.name for one in document.saved] == ["s", "t"]
    assert [event.kind for event in document.events] == ["stray-line"]


def test_crlf_block_is_read() -> None:
    """Line ends are no part of the form."""
    text = f"{BODY}{HEADING}#*# [s]\n#*# x = 1\n".replace("\n", "\r\n")

    assert [one.value for one in read(text).saved[0].settings] == ["1"]


def test_block_of_an_included_file_is_not_read() -> None:
    """Only the root file's block is the firmware's own."""
    part = f"[t]\nk: 1\n{HEADING}#*# [t]\n#*# x = 1\n".encode()
    found = read_tree_from_bytes(b"[include b.cfg]\n", "a.cfg", open_file=lambda _: part)

    assert found.keys("t") == ("k",)
    assert [(e.kind, e.at.file) for e in found.events] == [("saved-block-in-include", "b.cfg")]


def test_long_saved_lines_are_read() -> None:
    """Stored sensor models are lines of thousands of digits."""
    value = ",".join(["1.234567"] * 2000)
    document = read(f"{BODY}{HEADING}#*# [s]\n#*# model = {value}\n")

    assert document.saved[0].settings[0].value == value
