"""A config file as a document: its text, its lines, what stands in it, and its bytes again.

Reading never fails. What is not understood is kept as text and named by an event. Nothing
outside the document is looked at: includes are only listed.

Its bytes become text and back without losing one. Bytes that are no UTF-8 become lone surrogates,
one each, and come back as the same bytes. It does not guess code pages: such bytes stand in
comments, and the firmware would refuse them.
"""

from __future__ import annotations

import re
from array import array
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field

from advisor.base import Event, Span, frozen
from advisor.files import printable

__all__ = [
    "Document",
    "Include",
    "Places",
    "Section",
    "Setting",
    "bom_length",
    "decode",
    "encode",
    "no_text",
    "printable",
    "uncommented",
]

_SIGNATURES = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_ARCHIVES = (b"PK\x03\x04", b"\x1f\x8b", b"\x7fELF", b"\x89PNG", b"%PDF", b"BZh", b"\xfd7zXZ")
_SAMPLE = 4096  # bytes looked at for the pattern of NUL bytes
_CONTROLS = bytes(set(range(1, 32)) - set(b"\t\n\v\f\r\x1b"))
_FEW_CONTROLS = 0.05  # share of control characters that no text has
Places = tuple[int, int, int, int, int]
_COMMENT = re.compile(r"#|(?<=\s);")
_BLANK_KINDS = frozenset(("BLANK", "HASH_COMMENT", "SAVED", "SAVED_TITLE"))


def decode(data: bytes) -> str:
    """Return the text of `data`; `encode` gives the same bytes back, whatever they are."""
    return data.decode("utf-8", "surrogateescape")


def encode(text: str) -> bytes:
    """Return the bytes that `decode` made `text` of."""
    return text.encode("utf-8", "surrogateescape")


def bom_length(text: str) -> int:
    """Return how many characters of a byte order mark stand at the beginning: 0 or 1."""
    return int(text.startswith("\ufeff"))


def no_text(data: bytes) -> str | None:
    """Return what `data` is where it is no 8-bit text: ``UTF-16``, ``UTF-32``, ``binary``.

    Notes
    -----
    UTF-16 without a mark is known by its NUL bytes, which stand nearly all on one side of
    each pair. A few NUL bytes in a text (a card that lost power) leave it a text; a file in
    which one byte in twenty is another control character is none.
    """
    for signature, name in _SIGNATURES:
        if data.startswith(signature):
            return name
    if data.startswith(_ARCHIVES):
        return "binary"
    sample = data[:_SAMPLE]
    controls = len(sample) - len(sample.translate(None, _CONTROLS))
    if controls > max(_FEW_CONTROLS * len(sample), 20):
        return "binary"
    nuls = data.count(0)
    if not nuls:
        return None
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    if max(even, odd) > 0.4 * len(sample) / 2 and min(even, odd) < 0.1 * max(even, odd):
        return "UTF-16"
    return "binary" if nuls > 0.01 * len(data) else None


def uncommented(text: str, start: int, stop: int) -> int:
    """Return where the text from `start` to `stop` ends before its comment and blanks.

    The comment begins at the first ``#``, or at a ``;`` after a blank.
    """
    found = _COMMENT.search(text, start, stop)
    cut = found.start() if found else stop
    if cut > start and not text[cut - 1].isspace():
        return cut
    return start + len(text[start:cut].rstrip())


@frozen(eq=False)
class Setting:
    """One ``key: value`` of a document, with its continuation lines.

    ``places`` are the offsets of the key's beginning and end, the delimiter, and the
    beginning and end of the value's first line.
    """

    section: str
    key: str
    document: Document
    line: int  # index of its line, from 0
    last_line: int  # index of its last continuation line
    places: Places
    from_saved_block: bool = False

    @property
    def raw_key(self) -> str:
        """The key as it is written, capitals and all."""
        return printable(self.document.text[self.places[0] : self.places[1]])

    @property
    def delimiter(self) -> str:
        """``:`` or ``=``."""
        return self.document.text[self.places[2]]

    @property
    def first_value(self) -> str:
        """The value's first line, without comment."""
        return printable(self.document.text[self.places[3] : self.places[4]])

    @property
    def value(self) -> str:
        """The value as the firmware sees it: lines stripped and joined, comments cut."""
        if self.last_line == self.line:
            return self.first_value
        return "\n".join((self.first_value, *self.extra_lines)).rstrip()

    @property
    def extra_lines(self) -> tuple[str, ...]:
        """The continuation lines as the firmware sees them; a blank line is empty text."""
        return tuple(text for _, text in self._more())

    @property
    def extra_places(self) -> tuple[tuple[int, str], ...]:
        """The continuation lines, each with its line number (comments count too)."""
        return tuple(self._more())

    @property
    def key_span(self) -> Span:
        """Where the key stands."""
        return self.document.span(self.places[0], self.places[1])

    @property
    def value_span(self) -> Span:
        """Where the characters of the value's first line stand."""
        return self.document.span(self.places[3], self.places[4])

    @property
    def file(self) -> str:
        """The path of the file, as the user gave it."""
        return self.document.path

    def _more(self) -> Iterator[tuple[int, str]]:
        document = self.document
        for line in range(self.line + 1, self.last_line + 1):
            kind = document.kinds[line]
            if kind == "CONTINUATION":
                start, stop = document.content(line)
                stop = uncommented(document.text, start, stop)
                yield line, printable(document.text[start:stop].strip())
            elif kind in _BLANK_KINDS:
                yield line, ""


@frozen(eq=False)
class Section:
    """One block of a section: its header and the settings up to the next header."""

    name: str
    document: Document
    line: int  # index of the header's line, from 0
    last_line: int  # index of the last line with content
    places: tuple[int, int]  # the header's opening bracket, and one past the closing one
    settings: tuple[Setting, ...]
    from_saved_block: bool = False

    @property
    def header(self) -> Span:
        """Where the header stands, brackets included."""
        return self.document.span(*self.places)

    @property
    def file(self) -> str:
        """The path of the file, as the user gave it."""
        return self.document.path


@frozen(eq=False)
class Include:
    """A header that asks for other files in its place."""

    target: str
    document: Document
    line: int
    places: tuple[int, int]

    @property
    def at(self) -> Span:
        """Where the header stands, brackets included."""
        return self.document.span(*self.places)


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
