"""Gathers what the reader notices line by line; what follows each other becomes one event."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from advisor.base import EVENTS_PER_FILE, Event
from advisor.config.document import Document, printable, uncommented
from advisor.config.saved_block import SavedBlock

__all__ = ["LineEvents"]

_SWALLOWED = re.compile(r"[A-Za-z_]\w*\s*[:=]\s*[^\s=]")
_HEADER = re.compile(r"\[[A-Za-z_]\w*(?: [^\[\]]+)?\]\Z")
_ALIAS = re.compile(r"[A-Z][A-Z0-9_]*=|[^,]*,\s*\w+\s*=")
_LISTED = re.compile(r"[{=]|,\Z")  # a first line with one of these goes on in the next line
_SHOWN = 80


class LineEvents:
    """Collects the events of one document while it is read."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.events: list[Event] = []
        self.left_out = 0  # events beyond the budget of a file
        self.first_out = 0  # the line of the first of them
        self.conflict = False  # whether a merge conflict is open
        self.ordinal = 0  # counts strays and outsiders and everything between them
        self.strays: list[tuple[int, int]] = []  # (ordinal, line)
        self.outsiders: list[tuple[int, int]] = []
        self.text_after: int | None = None
        self.sections = 0
        self.value, self.listed = "", False  # the value that goes on, whether it is a list

    def finish(self, block: SavedBlock | None) -> list[Event]:
        """Return all events in the order of their lines."""
        document = self.document
        if self.sections:
            self._add_runs("stray-line", self.strays)
            self._add_runs("key-outside-section", self.outsiders)
        elif self.strays or self.outsiders:
            first = min(line for _, line in (*self.strays[:1], *self.outsiders[:1]))
            count = len(self.strays) + len(self.outsiders)
            self._add("no-section", first, text=document.shown(first), count=str(count))
        if block is not None and block.event is not None:
            self.events.append(block.event)
        if self.text_after is not None:
            text = document.shown(self.text_after)
            self._add("text-after-saved-block", self.text_after, text=text)
        if self.left_out:
            at = document.line_span(self.first_out)
            self.events.append(Event("events-left-out", at, {"count": str(self.left_out)}))
        return sorted(self.events, key=lambda event: event.at.line)

    def header(self, line: int, end: int, stop: int) -> None:
        """Note a header, and text between its bracket and the comment."""
        self.sections += 1
        self.ordinal += 1
        rest = self.document.text[end:stop][:_SHOWN].strip()
        if rest:
            self._add("text-after-header", line, text=printable(rest))

    def setting(self) -> None:
        """Note that a setting stands here: a run of strays ends."""
        self.ordinal += 1

    def stray(self, line: int) -> None:
        """Note a line that is neither header nor setting."""
        self.strays.append((self.ordinal, line))

    def outside(self, line: int) -> None:
        """Note a setting that belongs to no section."""
        self.outsiders.append((self.ordinal, line))

    def empty_key(self, line: int) -> None:
        """Note a line that begins with a delimiter."""
        self._add("empty-key", line, text=self.document.shown(line))

    def merge_mark(self, line: int) -> None:
        """Note a merge marker; the marks of one conflict are one event."""
        mark = self.document.text[self.document.content(line)[0]]
        if not self.conflict:
            self._add("merge-marker", line, text=self.document.shown(line))
        self.conflict = mark == "<" or (self.conflict and mark != ">")

    def after_saved_block(self, line: int) -> None:
        """Note the first live line after a saved block."""
        self.text_after = line

    def continuation(self, line: int, *, section: str, key: str, value: str) -> None:
        """Note a continuation line that looks like a header or setting of its own."""
        if value is not self.value:
            self.value, self.listed = value, bool(_LISTED.search(value))
        if self.listed:
            return
        start, stop = self.document.content(line)
        stop = uncommented(self.document.text, start, stop)
        text = self.document.text[start:stop].lstrip()[: 2 * _SHOWN]
        fields = {"section": section, "key": key, "text": printable(text[:_SHOWN])}
        if _HEADER.match(text):
            self._add("swallowed-header", line, **fields)
        elif "{" not in text and _SWALLOWED.match(text) and not _ALIAS.match(text):
            self._add("swallowed-line", line, **fields)

    def _add(self, kind: str, line: int, **fields: str) -> None:
        if len(self.events) < EVENTS_PER_FILE:
            self.events.append(Event(kind, self.document.line_span(line), fields))
            return
        self.first_out = min(self.first_out, line) if self.left_out else line
        self.left_out += 1

    def _add_runs(self, kind: str, lines: Iterable[tuple[int, int]]) -> None:
        for first, count in _runs(lines):
            self._add(kind, first, text=self.document.shown(first), count=str(count))


def _runs(lines: Iterable[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Yield the first line and the length of each run of lines with the same ordinal."""
    current, first, count = -1, 0, 0
    for ordinal, line in lines:
        if ordinal != current:
            if count:
                yield first, count
            current, first, count = ordinal, line, 0
        count += 1
    if count:
        yield first, count
