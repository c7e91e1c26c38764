"""Finds the saved block at the end of a config and decides whether the firmware reads it.

The firmware reads it only in its exact form: the title line, then nothing but lines that
begin with the block's mark and a blank, or are the mark alone. One other line, or a marked
line before the title, and the whole block is ignored. The form itself is in the grammar.
"""

from __future__ import annotations

from advisor.base import Event, frozen
from advisor.config.document import Document

__all__ = ["SavedBlock", "find_saved_block"]

_MARKED = ("SAVED", "SAVED_TITLE")


@frozen
class SavedBlock:
    """Where the block is: its first marked line, the line after its title if it is read."""

    first: int
    content: int | None
    event: Event | None = None


def find_saved_block(document: Document) -> SavedBlock | None:
    """Return the saved block of a document whose lines are known, or None if it has none."""
    kinds = document.kinds
    title = kinds.index("SAVED_TITLE") if "SAVED_TITLE" in kinds else None
    early = _first_marked(document, title)
    if early is not None:
        return SavedBlock(early, None, _event(document, "saved-block-corrupt", early, early))
    if title is None:
        return None
    other = _first_other(kinds, title)
    if other is not None:
        return SavedBlock(title, None, _event(document, "saved-block-ignored", title, other))
    if _cut_off(document, title):
        return SavedBlock(title, None, _event(document, "saved-block-corrupt", title, title))
    return SavedBlock(title, title + 1)


def _first_marked(document: Document, title: int | None) -> int | None:
    """Return the first line before the title that has the mark and a blank after it."""
    stop = len(document.kinds) if title is None else title
    for line in range(stop):
        if document.kinds[line] == "SAVED" and _length(document, line) > 3:
            return line
    return None


def _first_other(kinds: list[str], title: int) -> int | None:
    """Return the first line after the title that is not marked; blanks at the end are fine.

    One with text goes before a blank one: it is the cause to be told.
    """
    last = len(kinds) - 1
    while kinds[last] == "BLANK":
        last -= 1
    others = [line for line in range(title + 1, last + 1) if kinds[line] not in _MARKED]
    first = next(iter(others), None)
    return next((line for line in others if kinds[line] != "BLANK"), first)


def _cut_off(document: Document, title: int) -> bool:
    """Return whether an empty block ends within its heading: no line end after its last mark."""
    last = len(document.kinds) - 1
    if last > title + 2 or document.kinds[last] not in _MARKED:
        return False
    return not document.text.endswith(("\n", "\r"))


def _length(document: Document, line: int) -> int:
    start, stop = document.content(line)
    return stop - start


def _event(document: Document, kind: str, line: int, other: int) -> Event:
    fields = {"other_line": str(other + 1), "text": document.shown(other)}
    return Event(kind, document.line_span(line), fields)
