"""Turns the bytes of a config into sections, settings and includes, as the firmware would.

It never fails, and opens nothing.

What differs from the standard library's reader: a line that is no header and no setting is
noted and skipped, and so is a setting before any section; ``[DEFAULT]`` is a section like any
other; everything keeps its place. Values are neither read nor checked.

One pass of the lark lexer cuts a text into its lines and names the kind of each. Nothing is copied
or kept but where each line begins and its kind.
"""

from __future__ import annotations

import functools
import re
from array import array
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from advisor.base import Event, Span, frozen
from advisor.config.document import (
    Document,
    Include,
    Places,
    Section,
    Setting,
    bom_length,
    decode,
    encode,
    no_text,
    printable,
    uncommented,
)
from advisor.config.line_events import LineEvents
from advisor.config.saved_block import SavedBlock, find_saved_block
from advisor.data import Terminal, build_lexer, load_lexer

if TYPE_CHECKING:
    from lark.lexer import BasicLexer

__all__ = [
    "ARTIFACTS",
    "MAX_LINES",
    "CutLines",
    "build_grammar",
    "cut_lines",
    "kind_at",
    "read_document",
    "read_lines",
    "text_events",
]

MAX_LINES = 500_000  # of one file; no config comes near it, and time and memory stay bounded
_FILE, _START = "config_lines.lark", "document"
_DELIMITER = re.compile(r"[:=]")
_SOLID = re.compile(r"\S")
_INNER = {"INCLUDE": "SECTION", "MERGE_MARK": "STRAY"}  # what these are unless at column 1
_BAD = re.compile("[\ud800-\udfff]")
_OTHER_END = {"\n": r"\r", "\r\n": r"(?<!\r)\n|\r(?!\n)", "\r": r"\n"}


@frozen
class CutLines:
    """Where each line begins (and, last, where the last one ends) and its kind."""

    starts: array[int]
    kinds: list[str]


def cut_lines(text: str, begin: int) -> CutLines:
    """Return the lines of `text` from `begin` on, at most `MAX_LINES` of them."""
    from lark.utils import TextSlice

    match: Callable[[TextSlice[str], int], tuple[str, str]] = _lexer().match
    whole = TextSlice(text, 0, len(text))
    starts = array("q", (begin,))
    kinds: list[str] = []
    position, end = begin, len(text)
    while position < end and len(kinds) < MAX_LINES:
        line, kind = match(whole, position)
        position += len(line)
        starts.append(position)
        kinds.append(kind)
    return CutLines(starts, kinds)


def kind_at(text: str, position: int, end: int) -> str:
    """Return the kind of the line that would begin at `position` and end at `end`."""
    from lark.utils import TextSlice

    match: Callable[[TextSlice[str], int], tuple[str, str] | None] = _lexer().match
    found = match(TextSlice(text, 0, end), position)
    return found[1] if found else "BLANK"


def build_grammar() -> list[Terminal]:
    """Return the compiled terminals of the line grammar: the artifact ``grammar-config``."""
    return build_lexer(_FILE, _START)


ARTIFACTS: Mapping[str, Callable[[], object]] = {"grammar-config": build_grammar}


@functools.cache
def _lexer() -> BasicLexer:
    return load_lexer("grammar-config", _FILE, _START)


def read_lines(document: Document) -> list[Event]:
    """Fill in the items of a document whose lines are known, and return the events."""
    events = LineEvents(document)
    block = find_saved_block(document)
    last = len(document.kinds)
    if block is None or block.content is None:
        document.items = tuple(_LineReader(document, events, block).read(0, last))
        return events.finish(block)
    document.items = tuple(_LineReader(document, events, None).read(0, block.first))
    document.saved_from = block.content
    saved = _SavedLineReader(document, events, None).read(block.content, last)
    document.saved = tuple(item for item in saved if isinstance(item, Section))
    return events.finish(block)


class _LineReader:
    """Walks over lines and holds what is open: a section, a setting, their indentation."""

    saved = False

    def __init__(self, document: Document, events: LineEvents, block: SavedBlock | None) -> None:
        self.document, self.text, self.events = document, document.text, events
        self.block = block  # one that does not count, until a live line after it was met
        self.items: list[Section | Include] = []
        self.header: tuple[str, int, tuple[int, int]] | None = None
        self.settings: list[Setting] = []
        self.open: tuple[str, int, Places] | None = None
        self.first: tuple[Places | None, str] = (None, "")  # the first line of an open value
        self.last_line = 0  # of the open setting
        self.last_content = 0  # of the open section
        self.indent = 0
        self.steps: dict[str, Callable[[int, int, int], None]] = {
            "INDENTED": self.indented,
            "SECTION": self.section,
            "INCLUDE": self.include,
            "SETTING": self.setting,
            "EMPTY_KEY": self.empty_key,
            "MERGE_MARK": self.merge_mark,
            "STRAY": self.stray,
        }

    def read(self, first: int, stop: int) -> list[Section | Include]:
        """Return the items of the lines from `first` up to `stop`."""
        kinds, steps = self.document.kinds, self.steps
        for line in range(first, stop):
            if kinds[line] in steps:
                self.take(line, kinds[line])
        self.close_section()
        return self.items

    def take(self, line: int, kind: str) -> None:
        """Hand a line with content to its step."""
        if self.block is not None and line > self.block.first:
            self.events.after_saved_block(line)
            self.block = None
        if kind != "INDENTED":
            self.indent = 0
        self.steps[kind](line, *self.document.content(line))
        self.last_content = line

    def indented(self, line: int, start: int, stop: int) -> None:
        """Take a line that begins with a blank: a continuation, or a line of its own."""
        found = _SOLID.search(self.text, start, stop)
        begin = found.start() if found else stop
        if self.open is not None and begin - start > self.indent:
            self.continuation(line)
            return
        self.indent = begin - start
        kind = kind_at(self.text, begin, stop)
        kind = self.document.kinds[line] = _INNER.get(kind, kind)
        self.steps[kind](line, begin, stop)

    def continuation(self, line: int) -> None:
        """Add a line to the open setting."""
        self.document.kinds[line] = "CONTINUATION"
        self.last_line = line
        key, _, places = self.open or ("", 0, (0, 0, 0, 0, 0))
        if places[3] < places[4] and self.header is not None:
            if self.first[0] is not places:  # cut out once, however many lines go on with it
                self.first = places, self.text[places[3] : places[4]]
            value = self.first[1]
            self.events.continuation(line, section=self.header[0], key=key, value=value)

    def section(self, line: int, start: int, stop: int) -> None:
        """Open a section: its name is what stands between the brackets, exactly."""
        self.close_section()
        end = self.header_end(line, start, stop)
        self.header = (printable(self.text[start + 1 : end - 1]), line, (start, end))

    def include(self, line: int, start: int, stop: int) -> None:
        """List an include; what follows it needs a header of its own."""
        self.close_section()
        end = self.header_end(line, start, stop)
        target = self.text[start + 1 : end - 1].removeprefix("include ").strip()
        self.items.append(Include(target, self.document, line, (start, end)))

    def header_end(self, line: int, start: int, stop: int) -> int:
        """Return the place after the last closing bracket before the comment."""
        stop = uncommented(self.text, start, stop)
        end = self.text.rfind("]", start, stop) + 1
        self.events.header(line, end, stop)
        return end

    def setting(self, line: int, start: int, stop: int) -> None:
        """Open a setting: split at the first delimiter before the comment."""
        self.close_setting()
        cut = uncommented(self.text, start, stop)
        found = _DELIMITER.search(self.text, start, cut)
        delimiter = found.start() if found else cut
        key_end = start + len(self.text[start:delimiter].rstrip())
        if self.header is None:
            self.events.outside(line)
            return
        self.events.setting()
        solid = _SOLID.search(self.text, delimiter + 1, cut)
        value = solid.start() if solid else self.empty_value(delimiter + 1, stop)
        key = printable(self.text[start:key_end]).lower()
        self.open = (key, line, (start, key_end, delimiter, value, max(value, cut)))
        self.last_line = line

    def empty_value(self, place: int, stop: int) -> int:
        """Return where a value would stand: one blank after the delimiter, if there is one."""
        return place + 1 if place < stop and self.text[place].isspace() else place

    def empty_key(self, line: int, start: int, stop: int) -> None:
        """Note a line that begins with a delimiter."""
        self.events.empty_key(line)

    def merge_mark(self, line: int, start: int, stop: int) -> None:
        """Note a merge marker."""
        self.events.merge_mark(line)

    def stray(self, line: int, start: int, stop: int) -> None:
        """Note a line that is nothing the firmware knows."""
        self.events.stray(line)

    def close_setting(self) -> None:
        """Put the open setting, if any, to its section."""
        if self.open is not None and self.header is not None:
            key, line, places = self.open
            name, last = self.header[0], self.last_line
            setting = Setting(name, key, self.document, line, last, places, self.saved)
            self.settings.append(setting)
        self.open = None

    def close_section(self) -> None:
        """Put the open section, if any, to the items."""
        self.close_setting()
        if self.header is not None:
            name, line, places = self.header
            last = max(line, self.last_content)
            settings = tuple(self.settings)
            section = Section(name, self.document, line, last, places, settings, self.saved)
            self.items.append(section)
        self.header, self.settings = None, []


class _SavedLineReader(_LineReader):
    """Reads a saved block: the same lines behind a mark; its heading is no content."""

    saved = True

    def read(self, first: int, stop: int) -> list[Section | Include]:
        """Return the sections of the lines from `first` up to `stop`."""
        kinds = self.document.kinds
        for line in range(first, stop):
            start, end = self.document.content(line)
            kind = kind_at(self.text, start, end) if start < end else "BLANK"
            kind = kinds[line] = _INNER.get(kind, kind)
            if kind in self.steps and (self.header or kind == "SECTION"):
                self.take(line, kind)
        self.close_section()
        return self.items


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
