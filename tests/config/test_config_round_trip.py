"""Bytes in, the same bytes out, whatever they are; and reading never fails."""

from __future__ import annotations

from every import every
from hypothesis import given, strategies as st
from hypothesis.extra.lark import from_lark
from strategies import config_bytes, many

from advisor.config import Document, read_document, read_tree_from_bytes
from advisor.data.resources import read_text

MADE_UP = {
    "nothing": b"",
    "one-blank": b" ",
    "one-line-end": b"\n",
    "no-line-end-at-the-end": b"[s]\nk: 1",
    "crlf": b"[s]\r\nk: 1\r\n",
    "cr": b"[s]\rk: 1\r",
    "mixed": b"[s]\r\nk: 1\nj: 2\r\r\n",
    "bom": b"\xef\xbb\xbf[s]\nk: 1\n",
    "bom-only": b"\xef\xbb\xbf",
    "latin-1": b"[s]\nk: 1 # 20 \xb0C\n",
    "half-a-character": b"[s]\nk: \xc3",
    "surrogate-in-utf-8": b"[s]\nk: \xed\xb3\xbf\n",
    "overlong": b"[s]\nk: \xc0\xaf\n",
    "nul": b"[s]\nk: 1\0\nj: 2\n" + b"# filler\n" * 50,
    "all-nul": b"\0" * 100,
    "utf-16": "[s]\nk: 1\n".encode("utf-16"),
    "utf-16-without-mark": "[s]\nk: 1\n".encode("utf-16-be"),
    "archive": b"PK\x03\x04rest",
    "unicode-line-separators": "[s]\nk: a\u2028b\x85c\x0bd\x0ce\x1cf\n".encode(),
    "long-line": b"[s]\nk: " + b"1, " * 5000,
}


def assert_lossless(document: Document, data: bytes) -> None:
    """Hold bytes, lines and every place of a document to its text."""
    assert document.to_bytes() == data
    if document.kinds:
        begin = document.starts[0]
        assert "".join(document.lines) == document.text[begin:]
        assert len(document.kinds) == len(document.starts) - 1
    for section in (*document.sections, *document.saved):
        assert document.text[section.places[0]] == "["
        for setting in section.settings:
            start, stop, delimiter, value, end = setting.places
            assert start < stop <= delimiter < value <= end
            assert document.text[delimiter] in ":="
            assert "\n" not in document.text[start:end]


@every("name", MADE_UP)
def test_made_up_file_comes_back(name: str) -> None:
    """A file with one oddity comes back byte for byte."""
    assert_lossless(read_document(MADE_UP[name], "x.cfg"), MADE_UP[name])


@many
@given(config_bytes())
def test_any_file_comes_back(data: bytes) -> None:
    """Configs of nasty lines, spoilt ones and arbitrary bytes come back byte for byte."""
    document = read_document(data, "x.cfg")
    again = read_document(document.to_bytes(), "x.cfg")

    assert_lossless(document, data)
    assert (again.kinds, again.events) == (document.kinds, document.events)


@many
@given(st.binary(max_size=60))
def test_any_bytes_make_a_tree(data: bytes) -> None:
    """No bytes can make the reader of whole configs fail."""
    missing = FileNotFoundError("no file")

    def open_file(path: str) -> bytes:
        raise missing

    tree = read_tree_from_bytes(data, "x.cfg", open_file=open_file, list_glob=lambda _: [])

    assert tree.root.to_bytes() == data


def _grammar_strategy() -> st.SearchStrategy[str]:
    from lark import Lark

    grammar = Lark(read_text("grammars", "config_lines.lark"), parser="lalr", start="document")
    ascii_text = st.characters(codec="ascii", exclude_characters="\0")
    return from_lark(grammar, start="document", alphabet=ascii_text)


@many
@given(_grammar_strategy())
def test_texts_made_by_the_grammar_come_back(text: str) -> None:
    """Texts that the line grammar itself produces come back byte for byte."""
    data = text.encode()

    assert_lossless(read_document(data, "x.cfg"), data)
