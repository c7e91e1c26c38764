"""Encodings, line ends and texts that are none."""

from __future__ import annotations

import json

import pytest

from advisor.base import Span
from advisor.config import read_document, read_tree_from_bytes
from advisor.config.reader import MAX_LINES


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le"])
def test_wide_text_is_named_and_not_read(encoding: str) -> None:
    """UTF-16 is told by its mark or by its NUL bytes; a survey met none, editors make it."""
    document = read_document("[s]\nk: 1\n".encode(encoding), "x.cfg")

    assert document.sections == ()
    assert not document.complete
    if encoding != "utf-32-le":  # without mark and with three NULs of four: just no text
        assert [event.kind for event in document.events] == ["utf-16-file"]


@pytest.mark.parametrize("data", [b"PK\x03\x04abc", b"\x1f\x8babc", b"\0" * 50, b"a\0\0b\0c\0\0"])
def test_no_text_is_named_and_not_read(data: bytes) -> None:
    """An archive or a file full of NUL bytes is no config."""
    document = read_document(data, "x.cfg")

    assert document.sections == ()
    assert [event.kind for event in document.events] == ["binary-file"]


def test_few_nul_bytes_leave_a_text() -> None:
    """A card that lost power leaves NUL bytes behind; the rest is still read."""
    document = read_document(b"[s]\nk: 1\n" + b"# filler\n" * 50 + b"\0\nj: 2\n", "x.cfg")

    assert [one.key for one in document.sections[0].settings] == ["k", "j"]
    assert [(e.kind, e.at.line) for e in document.events] == [("nul-bytes", 53), ("stray-line", 53)]


def test_byte_order_mark_hides_no_header() -> None:
    """The mark is no character of the first line; columns count behind it."""
    document = read_document(b"\xef\xbb\xbf[s]\nk: 1\n", "x.cfg")

    assert document.sections[0].header == Span("x.cfg", 1, 1, 4)
    assert document.sections[0].settings[0].value == "1"
    assert [event.kind for event in document.events] == ["byte-order-mark"]


def test_eight_bit_bytes_survive_and_print() -> None:
    """A degree sign of an 8-bit code page stands for itself on the way back and prints."""
    data = b"[s\xe9]\nk\xe9: 20 \xb0C\n# caf\xe9\n"
    document = read_document(data, "x.cfg")
    found = document.sections[0]

    assert document.to_bytes() == data
    assert (found.name, found.settings[0].key) == ("s\ufffd", "k\ufffd")
    assert found.settings[0].value == "20 \ufffdC"
    assert found.settings[0].value_span == Span("x.cfg", 2, 5, 10)
    assert [(e.kind, e.at.line, e.fields["count"]) for e in document.events] == [
        ("bad-bytes", 1, "4")
    ]


def test_everything_handed_out_is_printable() -> None:
    """No lone surrogate leaves the reader, so that no output can fail on one."""
    data = b"\xff\n[s\xff]\nk\xff: \xff\n  l: \xff\nk\xff: 2\n[include \xff.cfg]\nq\xff: 3\n"

    def open_file(path: str) -> bytes:
        raise FileNotFoundError(path)

    tree = read_tree_from_bytes(data, "x.cfg", open_file=open_file)
    handed = [[e.kind, dict(e.fields)] for e in (*tree.events, *tree.duplicates())]
    handed += [[s.name, t.key, t.value, t.raw_key] for s in tree.live for t in s.settings]
    handed += [[m.target] for m in tree.missing_includes]

    assert len(handed) > 8
    json.dumps(handed, ensure_ascii=False).encode("utf-8")


def test_mixed_line_ends_are_counted() -> None:
    """The place is the first line end unlike the first one."""
    document = read_document(b"[s]\r\nk: 1\r\nj: 2\ni: 3\r\n", "x.cfg")

    (event,) = document.events
    assert (event.kind, event.at.line) == ("mixed-line-ends", 3)
    assert event.fields == {"lf": "1", "crlf": "3", "cr": "0"}


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_one_kind_of_line_end_is_no_event(end: bytes) -> None:
    """Only a mixture is worth a word."""
    assert read_document(end.join((b"[s]", b"k: 1", b"")), "x.cfg").events == ()


def test_too_many_lines_are_cut_off_and_said() -> None:
    """A text of millions of lines costs no more than the limit, and comes back whole."""
    data = b"[s]\n" + b"\n" * (MAX_LINES + 5)
    document = read_document(data, "x.cfg")

    assert len(document.kinds) == MAX_LINES
    assert not document.complete
    assert document.to_bytes() == data
    assert [(e.kind, e.at.line) for e in document.events] == [("too-many-lines", MAX_LINES + 1)]
