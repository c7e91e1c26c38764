"""Every event that the reader can raise is listed in rules/events.yaml, with its fields."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pytest
from every import every
from hypothesis import given
from ruamel.yaml import YAML
from strategies import SAVED_NOTICE, SAVED_TITLE, config_bytes, config_files, many

from advisor.base import Event, UnreadableError
from advisor.base.budgets import EVENTS_PER_FILE
from advisor.config import include, read_document, read_tree, read_tree_from_bytes
from advisor.config.reader import MAX_LINES
from advisor.data.resources import folder, read_text
from advisor.files.reach import reach_of

LISTED = YAML(typ="safe").load(read_text("rules", "events.yaml"))
BLOCK = f"{SAVED_TITLE}\n{SAVED_NOTICE}\n#*#\n#*# [s]\n#*# k = 2\n"
FILES = {
    "b.cfg": f"[s]\nk: 3\n{BLOCK}".encode(),
    "cycle.cfg": b"[include cycle.cfg]\n",
}
ONE_OF_EACH = {
    "utf-16-file": "[s]\n".encode("utf-16"),
    "binary-file": b"\0\0\0\0",
    "byte-order-mark": b"\xef\xbb\xbf[s]\n",
    "bad-bytes": b"# \xb0\n",
    "nul-bytes": b"# \0" + b"." * 200,
    "mixed-line-ends": b"[s]\r\n[t]\n",
    "too-many-lines": b"\n" * (MAX_LINES + 1),
    "no-section": b"word\n",
    "key-outside-section": b"k: 1\n[s]\n",
    "stray-line": b"[s]\nword\n",
    "empty-key": b"[s]\n: 1\n",
    "merge-marker": b"[s]\n<<<<<<< HEAD\n",
    "text-after-header": b"[s] x\n",
    "swallowed-line": b"[s]\nk: 1\n  j: 2\n",
    "swallowed-header": b"[s]\nk: 1\n  [t]\n",
    "duplicate-setting": b"[s]\nk: 1\nk: 2\n",
    "events-left-out": b"[s]\n" + b": 1\n" * 1001,
    "saved-block-ignored": (BLOCK + "word\n").encode(),
    "saved-block-corrupt": b"#*# [s]\n",
    "text-after-saved-block": (BLOCK + "[t]\n").encode(),
    "saved-setting-unused": ("[s]\nk: 1\n" + BLOCK).encode(),
    "saved-block-in-include": b"[include b.cfg]\n",
    "include-missing": b"[include gone.cfg]\n",
    "include-unreadable": b"[include bad.cfg]\n",
    "include-outside": b"[include ../out.cfg]\n",
    "include-cycle": b"[include a.cfg]\n",
    "include-limit": b"[include */*/*/*/*/*.cfg]\n",
}


def open_file(path: str) -> bytes:
    if path == "bad.cfg":
        raise UnreadableError("'bad.cfg' may not be read")
    if path not in FILES:
        raise FileNotFoundError(path)
    return FILES[path]


def events_of(data: bytes) -> tuple[Event, ...]:
    tree = read_tree_from_bytes(data, "a.cfg", open_file=open_file, reach=reach_of("a.cfg"))
    return *tree.events, *tree.duplicates()


def check(events: Iterable[Event]) -> None:
    for event in events:
        assert event.kind in LISTED
        assert sorted(event.fields) == sorted(LISTED[event.kind]["fields"]), event
        assert event.at.line >= 1
        assert event.at.column >= 1
        assert event.at.end_column is None or event.at.end_column >= event.at.column
        assert all(isinstance(field, str) for field in event.fields.values())


@every("kind", ONE_OF_EACH)
def test_each_listed_event_is_raised(kind: str) -> None:
    """A text of one line or two raises it, with the listed fields."""
    events = events_of(ONE_OF_EACH[kind])

    assert kind in {event.kind for event in events}
    check(events)


def test_each_listed_event_says_what_and_is_kebab_case() -> None:
    """The file has one sentence for each kind."""
    for kind, entry in LISTED.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", kind)
        assert sorted(entry) == ["fields", "what"]
        assert entry["what"].endswith(".")


def test_no_other_kind_stands_in_the_code() -> None:
    """Each kind that is named in the reader's code is tried above and stands in the list."""
    source = folder("grammars").parent / "advisor" / "config"
    if not source.is_dir():
        pytest.skip("the package is installed without its sources")
    calls = re.compile(
        r'(?:Event\(|_add\(|_add_runs\(|fail\(item, |_event\(document, )"([a-z0-9-]+)"'
    )
    named = {word for path in source.glob("*.py") for word in calls.findall(path.read_text())}

    assert len(named) > 15
    assert named <= set(ONE_OF_EACH)


@many
@given(config_bytes())
def test_events_of_any_file_are_as_listed(data: bytes) -> None:
    """Whatever the text, events have listed kinds and fields, and places that exist."""
    document = read_document(data, "x.cfg")

    check(document.events)
    for event in document.events:
        line = event.at.line - 1
        if line < len(document.kinds) and event.at.end_column is not None:
            start, stop = document.starts[line], document.starts[line + 1]
            assert event.at.end_column <= stop - start + 1


@many
@given(config_files())
def test_events_of_any_tree_are_as_listed(files: dict[str, str]) -> None:
    """Over several files, too; the include events point at a header."""

    def opened(path: str) -> bytes:
        if path not in files:
            raise FileNotFoundError(path)
        return files[path].encode()

    tree = read_tree("a.cfg", open_file=opened, list_glob=lambda _: sorted(files))

    check(tree.events)
    assert tree.incomplete == any(
        event.kind in ("include-missing", "include-unreadable", "include-limit")
        or event.kind in ("utf-16-file", "binary-file")
        for event in tree.events
    )


def test_events_are_bounded() -> None:
    """A text of nothing but mistakes makes no more events than the budget, and counts the rest."""
    data = b"[s]\n" + b"k: 1\n  j: 2\n" * 5000 + b"k: 2\nk: 3\n" * 5000
    events = events_of(data)
    left = [event for event in events if event.kind == "events-left-out"]
    swallowed = [event for event in events if event.kind == "swallowed-line"]
    twice = [event for event in events if event.kind == "duplicate-setting"]

    assert len(swallowed) == len(twice) == EVENTS_PER_FILE
    assert len(swallowed) + int(left[0].fields["count"]) == 5000
    assert len(twice) + int(left[1].fields["count"]) == 14_999
    assert twice[-1].at.line == 20_001


def test_include_events_are_bounded() -> None:
    """A text of nothing but includes makes no more events than there may be files."""
    assert len(events_of(b"[include gone.cfg]\n" * 5000)) <= include.MAX_FILES + 1
