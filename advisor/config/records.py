"""What a config document is made of: sections, settings, includes; text is cut out on demand.

The records hold places, not copies of the text. They know no key names and judge nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from advisor.config.encoding import printable
from advisor.frozen import frozen
from advisor.model import Span

if TYPE_CHECKING:
    from advisor.config.document import Document

__all__ = ["Include", "Places", "Section", "Setting", "uncommented"]

Places = tuple[int, int, int, int, int]

_COMMENT = re.compile(r"#|(?<=\s);")
_BLANK_KINDS = frozenset(("BLANK", "HASH_COMMENT", "SAVED", "SAVED_TITLE"))


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
