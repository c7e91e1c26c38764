"""Reads the bytes of a config file into a document; it never fails and opens nothing."""

from __future__ import annotations

from advisor.config.document import Document
from advisor.config.encoding import bom_length, decode, no_text
from advisor.config.lexing import cut_lines
from advisor.config.reader import read_lines
from advisor.config.text_events import text_events

__all__ = ["read_document"]


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
