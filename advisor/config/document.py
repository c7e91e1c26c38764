"""A config file as a document: its text, its lines, what stands in it, and its bytes again.

Reading never fails. What is not understood is kept as text and named by an event. Nothing
outside the document is looked at: includes are only listed.
"""

from __future__ import annotations

from array import array
from bisect import bisect_right
from dataclasses import dataclass, field

from advisor.config.encoding import bom_length, decode, encode, no_text, printable
from advisor.config.lexing import cut_lines
from advisor.config.reader import read_lines
from advisor.config.records import Include, Section
from advisor.config.text_events import text_events
from advisor.model import Event, Span

__all__ = ["Document", "read_document"]


@dataclass(slots=True, eq=False, repr=False)
class Document:
    """A config file. ``read_document`` makes it; it does not change afterwards.

    ``items`` are the live sections and includes in order, ``saved`` the sections of the saved
    block. ``complete`` is false where a part of the file could not be read as a config.
    """

    path: str
    text: str
    starts: array[int] = field(default_factory=lambda: array("q", (0,)))
    kinds: list[str] = field(default_factory=list)
    items: tuple[Section | Include, ...] = ()
    saved: tuple[Section, ...] = ()
    saved_from: int | None = None  # index of the first line of a saved block that counts
    events: tuple[Event, ...] = ()
    complete: bool = True
    outside: bool = False  # it lies outside of the config's folder: values only, never edited

    def to_bytes(self) -> bytes:
        """Return the bytes of the file."""
        return encode(self.text)

    @property
    def sections(self) -> tuple[Section, ...]:
        """The live sections in order."""
        return tuple(item for item in self.items if isinstance(item, Section))

    @property
    def lines(self) -> list[str]:
        """The lines with their line ends; joined, they are the text from the first line on."""
        ends = self.starts[1:]
        return [self.text[a:b] for a, b in zip(self.starts, ends, strict=False)]

    def content(self, line: int) -> tuple[int, int]:
        """Return where a line's content begins and ends: no line end, no saved-block mark."""
        start, stop = self.starts[line], self.starts[line + 1]
        if self.saved_from is not None and line >= self.saved_from:
            start = min(start + 4, stop)
        if stop > start and self.text[stop - 1] == "\n":
            stop -= 1
        if stop > start and self.text[stop - 1] == "\r":
            stop -= 1
        return start, stop

    def span(self, start: int, stop: int) -> Span:
        """Return the place of the characters from `start` to `stop`, which are on one line."""
        line = max(bisect_right(self.starts, start) - 1, 0)
        line = min(line, max(len(self.kinds) - 1, 0))
        first = self.starts[line]
        return Span(self.path, line + 1, start - first + 1, stop - first + 1)

    def line_span(self, line: int) -> Span:
        """Return the place of a line's content without the blanks around it."""
        start, stop = self.content(line)
        shown = self.text[start:stop]
        start += len(shown) - len(shown.lstrip())
        return self.span(start, start + len(shown.strip()))

    def shown(self, line: int) -> str:
        """Return the beginning of a line's content, for a message."""
        start, stop = self.content(line)
        return printable(self.text[start : min(stop, start + 200)].strip()[:80])


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
