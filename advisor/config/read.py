"""Reads the bytes of a config file into a document; it never fails and opens nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator

from advisor.base import Event, Span
from advisor.config.document import Document
from advisor.config.encoding import bom_length, decode, encode, no_text
from advisor.config.lexing import MAX_LINES, cut_lines
from advisor.config.reader import read_lines

__all__ = ["read_document", "text_events"]


_BAD = re.compile("[\ud800-\udfff]")
_OTHER_END = {"\n": r"\r", "\r\n": r"(?<!\r)\n|\r(?!\n)", "\r": r"\n"}


def text_events(document: Document, kind: str | None) -> Iterator[Event]:
    """Yield the events of a document whose bytes are of `kind` (None: a text)."""
    start = Span(document.path, 1)
    if kind is not None:
        word = "binary-file" if kind == "binary" else "utf-16-file"
        yield Event(word, start, {"encoding": kind})
        return
    text = document.text
    if bom_length(text):
        yield Event("byte-order-mark", start)
    yield from _characters(document)
    yield from _line_ends(document)
    if document.starts[-1] < len(text):
        yield Event("too-many-lines", Span(document.path, MAX_LINES + 1), {"lines": str(MAX_LINES)})


def _characters(document: Document) -> Iterator[Event]:
    text = document.text
    bad = None if text.isascii() else _BAD.search(text)
    if bad:
        sound = text.encode("utf-8", "ignore")  # a bad byte is one character and is left out
        count = len(encode(text)) - len(sound)
        yield Event("bad-bytes", document.span(bad.start(), bad.end()), {"count": str(count)})
    nul = text.find("\0")
    if nul >= 0:
        yield Event("nul-bytes", document.span(nul, nul + 1), {"count": str(text.count("\0"))})


def _line_ends(document: Document) -> Iterator[Event]:
    text = document.text
    crlf = text.count("\r\n")
    counts = {"lf": text.count("\n") - crlf, "crlf": crlf, "cr": text.count("\r") - crlf}
    if sum(map(bool, counts.values())) < 2:
        return
    first = re.search(r"\r\n?|\n", text)
    other = re.search(_OTHER_END[first[0]], text) if first else None
    if other:
        at = document.span(other.start(), other.end())
        fields = {end: str(count) for end, count in counts.items()}
        yield Event("mixed-line-ends", Span(at.file, at.line, at.column), fields)


def read_document(data: bytes, path: str) -> Document:
    """Return the document of a file's bytes.

    Parameters
    ----------
    data : bytes
        Anything at all.
    path : str
        The name to show; nothing is opened.
    """
    document = Document(path, decode(data))
    kind = no_text(data)
    if kind is None:
        lines = cut_lines(document.text, bom_length(document.text))
        document.starts, document.kinds = lines.starts, lines.kinds
        document.complete = lines.starts[-1] == len(document.text)
        events = read_lines(document)
    else:
        document.complete, events = False, []
    document.events = (*text_events(document, kind), *events)
    return document
