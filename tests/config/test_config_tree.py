"""What is in effect over a whole config: order, duplicates, includes."""

from __future__ import annotations

import fnmatch
import posixpath

import pytest
from every import every

from advisor.base import Event, FileStatus, Span, UnreadableError
from advisor.config import Tree, include, read_tree, read_tree_from_bytes

Files = dict[str, str | Exception]


def tree_of(files: Files, root: str = "a.cfg") -> Tree:
    """Read a config whose files are held in memory."""

    def open_file(path: str) -> bytes:
        content = files.get(posixpath.normpath(path), FileNotFoundError(2, "none", path))
        if isinstance(content, Exception):
            raise content
        return content.encode()

    def list_glob(pattern: str) -> list[str]:
        return [name for name in files if fnmatch.fnmatchcase(name, posixpath.normpath(pattern))]

    return read_tree(root, open_file=open_file, list_glob=list_glob)


def value(tree: Tree, section: str, key: str) -> str | None:
    found = tree.find(section, key)
    return found.value if found else None


def only(tree: Tree) -> Event:
    (event,) = (*tree.events, *tree.duplicates())
    return event


def test_repeated_sections_merge_and_the_last_value_wins() -> None:
    """Both occurrences keep their places; keys compare in lower case."""
    tree = tree_of({"a.cfg": "[s]\nk: 1\nj: 2\n[t]\n[s]\nK: 3\n"})

    assert value(tree, "s", "k") == "3"
    assert value(tree, "s", "J") == "2"
    assert [one.value_span.line for one in tree.all("s", "K")] == [2, 6]
    assert tree.keys("s") == ("k", "j")
    assert tree.section_names == ("s", "t")
    assert [one.line for one in tree.sections("s")] == [0, 4]
    assert tree.header("s") == Span("a.cfg", 1, 1, 4)


def test_section_names_are_exact() -> None:
    """Capitals make another section."""
    tree = tree_of({"a.cfg": "[stepper_Z]\nk: 1\n"})

    assert tree.find("stepper_z", "k") is None
    assert tree.header("stepper_z") is None
    assert value(tree, "stepper_Z", "k") == "1"


def test_duplicate_with_another_value_is_an_event_at_the_later_one() -> None:
    """Both places and values are in the event."""
    event = only(tree_of({"a.cfg": "[s]\nrun_current: 0.800\nrun_current: 0.45\n"}))

    assert event.kind == "duplicate-setting"
    assert event.at == Span("a.cfg", 3, 14, 18)
    assert event.fields == {
        "section": "s", "key": "run_current", "first_line": "2", "first_file": "a.cfg",
        "first_value": "0.800", "value": "0.45",
    }  # fmt: skip


@pytest.mark.parametrize("second", ["200", "200 # steps", "200.0", " 200", "2e2"])
def test_duplicate_with_the_same_value_is_no_event(second: str) -> None:
    """A comment or another spelling of the same number does not matter."""
    assert list(tree_of({"a.cfg": f"[s]\nk: 200\nk: {second}\n"}).duplicates()) == []


def test_three_values_are_two_events() -> None:
    """Each value that replaces another one is told."""
    tree = tree_of({"a.cfg": "[s]\nk: 1\nk: 2\nk: 1\n"})

    assert [(e.fields["first_value"], e.fields["value"]) for e in tree.duplicates()] == [
        ("1", "2"),
        ("2", "1"),
    ]


def test_include_is_read_in_place() -> None:
    """What stands after the include beats it, what stands before is beaten."""
    tree = tree_of(
        {
            "a.cfg": "[s]\nk: root\nj: root\n[include b.cfg]\n[s]\nj: again\n",
            "b.cfg": "[s]\nk: part\nj: part\n",
        }
    )

    assert (value(tree, "s", "k"), value(tree, "s", "j")) == ("part", "again")
    found = tree.find("s", "k")
    assert found is not None
    assert found.value_span == Span("b.cfg", 2, 4, 8)
    assert [doc.path for doc in tree.documents] == ["a.cfg", "b.cfg"]
    assert tree.files == (FileStatus("a.cfg", "read"), FileStatus("b.cfg", "read"))
    assert not tree.incomplete


def test_settings_after_an_include_need_a_header() -> None:
    """An include ends the section, as any header does."""
    tree = tree_of({"a.cfg": "[s]\n[include b.cfg]\nk: 1\n", "b.cfg": "[t]\n"})

    assert tree.keys("s") == ()
    assert only(tree).kind == "key-outside-section"


@every(
    ("header", "path"),
    [
        ("[include b.cfg]", "b.cfg"),
        ("[include  b.cfg ]", "b.cfg"),
        ("[include b.cfg] # c", "b.cfg"),
        ("[include b.cfg]# c", "b.cfg"),
        ("[include ./b.cfg]", "./b.cfg"),
        ("[include sub/c.cfg]", "sub/c.cfg"),
        ("[include sub/../b.cfg]", "sub/../b.cfg"),
        ("[include /abs/d.cfg]", "/abs/d.cfg"),
        ("[include 20\u00b0C.cfg]", "20\u00b0C.cfg"),
        ("[include x y.cfg]", "x y.cfg"),
    ],
)
def test_include_path_is_shown_as_it_was_joined(header: str, path: str) -> None:
    """Relative to the including file's folder, absolute paths as they are."""
    names = ("b.cfg", "sub/c.cfg", "/abs/d.cfg", "20\u00b0C.cfg", "x y.cfg")
    files: Files = dict.fromkeys(names, "[s]\nk: 1\n")
    tree = tree_of({**files, "a.cfg": f"{header}\n"})

    assert [doc.path for doc in tree.documents] == ["a.cfg", path]
    assert tree.events == ()


@pytest.mark.parametrize(
    ("header", "name"),
    [
        ("[include\tb.cfg]", "include\tb.cfg"),
        ("[Include b.cfg]", "Include b.cfg"),
        ("[included b.cfg]", "included b.cfg"),
        (" [include b.cfg]", "include b.cfg"),
    ],
)
def test_what_is_no_include_is_a_section(header: str, name: str) -> None:
    """It counts only at column 1, in small letters, with a blank after the word."""
    tree = tree_of({"a.cfg": f"{header}\nk: 1\n", "b.cfg": "[s]\n"})

    assert tree.section_names == (name,)


def test_commented_out_include_is_none() -> None:
    """Neither '#' nor ';' before it leaves it live."""
    assert tree_of({"a.cfg": "#[include b.cfg]\n;[include b.cfg]\n"}).events == ()


def test_folders_are_relative_to_each_including_file() -> None:
    """A file in a subfolder includes its neighbours and, by '..', its parents' files."""
    tree = tree_of(
        {
            "dir/a.cfg": "[include sub/b.cfg]\n",
            "dir/sub/b.cfg": "[include c.cfg]\n[include ../d.cfg]\n",
            "dir/sub/c.cfg": "[c]\n",
            "dir/d.cfg": "[d]\n",
        },
        root="dir/a.cfg",
    )

    assert tree.section_names == ("c", "d")
    assert tree.documents[3].path == "dir/sub/../d.cfg"


def test_pattern_is_read_in_sorted_order() -> None:
    """The last name by alphabet wins, in whatever order the disk lists them."""
    tree = tree_of(
        {
            "c/2.cfg": "[s]\nk: two\n",
            "c/1.cfg": "[s]\nk: one\n",
            "c/x.txt": "[s]\nk: text\n",
            "a.cfg": "[include c/*.cfg]\n",
        }
    )

    assert value(tree, "s", "k") == "two"


def test_pattern_that_matches_nothing_is_no_fault() -> None:
    """The firmware takes it, and nothing is missing."""
    tree = tree_of({"a.cfg": "[include none/*.cfg]\n[include [x].cfg]\n"})

    assert tree.events == ()
    assert not tree.incomplete


def test_missing_include_is_an_event_on_its_header() -> None:
    """What it would have set is unknown, which is not absent."""
    tree = tree_of({"a.cfg": "[s]\nk: 1\n[include gone.cfg]  # add-on\n"})

    event = only(tree)
    assert (event.kind, event.at) == ("include-missing", Span("a.cfg", 3, 1, 19))
    assert (event.fields["target"], event.fields["path"]) == ("gone.cfg", "gone.cfg")
    assert tree.incomplete
    assert [(one.target, one.reason) for one in tree.missing_includes] == [
        ("gone.cfg", "include-missing")
    ]
    assert tree.files[1] == FileStatus("gone.cfg", "missing")
    assert value(tree, "s", "k") == "1"


@pytest.mark.parametrize("target", ["~/b.cfg", "sub\\b.cfg", '"b.cfg"', "b.cfg, c.cfg", "B.cfg"])
def test_target_is_taken_literally(target: str) -> None:
    """'~', backslashes, quotes and capitals are characters of the name."""
    event = only(
        tree_of({"a.cfg": f"[include {target}]\n", "b.cfg": "[s]\n", "sub/b.cfg": "[s]\n"})
    )

    assert (event.kind, event.fields["target"]) == ("include-missing", target)


def test_include_of_itself_is_a_cycle() -> None:
    """It is read once; nothing is unknown because of it."""
    tree = tree_of({"a.cfg": "[s]\nk: 1\n[include ./a.cfg]\n"})

    assert only(tree).kind == "include-cycle"
    assert only(tree).at.line == 3
    assert not tree.incomplete
    assert len(tree.live) == 1


def test_cycle_over_two_files_ends() -> None:
    """Each file is read at most once within a chain."""
    tree = tree_of({"a.cfg": "[include b.cfg]\n[a]\n", "b.cfg": "[include a.cfg]\n[b]\n"})

    assert tree.section_names == ("b", "a")
    assert (only(tree).kind, only(tree).at.file) == ("include-cycle", "b.cfg")


def test_pattern_that_matches_the_file_itself_is_a_cycle() -> None:
    """A root that includes '*.cfg' of its own folder."""
    tree = tree_of({"a.cfg": "[include *.cfg]\n", "b.cfg": "[b]\n"})

    assert tree.section_names == ("b",)
    assert only(tree).kind == "include-cycle"


def test_same_file_twice_is_no_cycle() -> None:
    """It is read in both places, from one document."""
    tree = tree_of(
        {"a.cfg": "[include b.cfg]\n[s]\nk: 2\n[include b.cfg]\n", "b.cfg": "[s]\nk: 1\n"}
    )

    assert value(tree, "s", "k") == "1"
    assert len(tree.documents) == 2


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (PermissionError(13, "no"), "'b.cfg' may not be read"),
        (IsADirectoryError(21, "no"), "'b.cfg' is a folder"),
        (OSError(5, "no"), "'b.cfg' cannot be read"),
        (UnreadableError("'b.cfg' is larger than 64 MB"), "'b.cfg' is larger than 64 MB"),
    ],
)
def test_unreadable_include_is_an_event(error: Exception, reason: str) -> None:
    """Why it cannot be read is in the event; the rest of the config is read."""
    tree = tree_of({"a.cfg": "[include b.cfg]\n[include b.cfg]\n[s]\nk: 1\n", "b.cfg": error})

    assert [(e.kind, e.at.line, e.fields["reason"]) for e in tree.events] == [
        ("include-unreadable", 1, reason),
        ("include-unreadable", 2, reason),
    ]
    assert tree.incomplete
    assert tree.files[1] == FileStatus("b.cfg", "unreadable")
    assert value(tree, "s", "k") == "1"


def test_include_that_is_no_text_leaves_the_config_incomplete() -> None:
    """A UTF-16 include is there, but what it sets is unknown."""
    data = "[s]\nk: 1\n".encode("utf-16")
    tree = read_tree_from_bytes(b"[include b.cfg]\n", "a.cfg", open_file=lambda _: data)

    assert tree.incomplete
    assert [event.kind for event in tree.events] == ["utf-16-file"]
    assert tree.files[1] == FileStatus("b.cfg", "unreadable")


def test_includes_without_end_are_cut_off_by_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that include the next ones twice each would be read 2^30 times."""
    files: Files = {f"{n}.cfg": f"[include {n + 1}.cfg]\n" * 2 for n in range(30)}
    files["30.cfg"] = "[s]\nk: 1\n"
    tree = tree_of(files, root="0.cfg")

    limits = [event for event in tree.events if event.kind == "include-limit"]
    assert [event.fields["limit"] for event in limits] == [f"{include.MAX_FILES} files"]
    assert tree.incomplete
    assert value(tree, "s", "k") == "1"


def test_includes_without_end_are_cut_off_by_depth() -> None:
    """A chain of 200 files is deeper than any config."""
    files: Files = {f"{n}.cfg": f"[include {n + 1}.cfg]\n" for n in range(200)}
    tree = tree_of(files, root="0.cfg")

    assert only(tree).kind == "include-limit"
    assert len(tree.documents) == include.MAX_DEPTH + 1


def test_includes_without_end_are_cut_off_by_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """A long file that is included again and again is counted each time."""
    monkeypatch.setattr(include, "MAX_LINES", 1000)
    tree = tree_of({"a.cfg": "[include b.cfg]\n" * 100, "b.cfg": "[s]\n" * 100})

    assert only(tree).fields["limit"] == "1000 lines"
    assert len(tree.live) <= 1000


def test_pattern_over_many_folders_is_not_followed() -> None:
    """It could walk over the whole disk."""
    assert only(tree_of({"a.cfg": "[include /*/*/*/*/*/*.cfg]\n"})).kind == "include-limit"


def test_root_that_cannot_be_opened_is_an_error() -> None:
    """One sentence with the path and what to do."""
    with pytest.raises(UnreadableError, match=r"^there is no file 'gone.cfg'; check the path$"):
        tree_of({}, root="gone.cfg")
    with pytest.raises(UnreadableError, match=r"'a.cfg' may not be read; ask for read permission"):
        tree_of({"a.cfg": PermissionError(13, "no")})


def test_standard_input_includes_relative_to_the_working_folder() -> None:
    """A caller hands over the bytes and a name to show."""
    asked: list[str] = []

    def open_file(path: str) -> bytes:
        asked.append(path)
        return b"[s]\nk: 1\n"

    tree = read_tree_from_bytes(b"[include b.cfg]\nk: 2\n", "-", open_file=open_file)

    assert asked == ["b.cfg"]
    assert only(tree).at.file == "-"
