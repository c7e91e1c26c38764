"""Finds the place of a character of a YAML text in its file, through quotes and folding."""

from __future__ import annotations

from collections.abc import Callable

from advisor.model import Span

__all__ = ["locator"]


def locator(text: str, at: Span, lines: list[str]) -> Callable[[int], Span]:
    """Return a function from an offset in `text` to its place in the file.

    Parameters
    ----------
    text : str
        The value as YAML gives it: folded, without quotes.
    at : Span
        Where the value begins in the file.
    lines : list of str
        The lines of the file.

    Notes
    -----
    Folding changes blanks only, so the n-th other character of the value is the n-th other
    character of the file from there on. A quote sign within a quoted text may be off by one.
    """

    def find(offset: int) -> Span:
        wanted = sum(not char.isspace() for char in text[:offset])
        line, column = _content(at, lines)
        last = Span(at.file, line, column)
        while line <= len(lines):
            for index, char in enumerate(lines[line - 1][column - 1 :], column):
                if char.isspace():
                    continue
                last = Span(at.file, line, index)
                if wanted == 0:
                    return last
                wanted -= 1
            line, column = line + 1, 1
        return last

    return find


def _content(at: Span, lines: list[str]) -> tuple[int, int]:
    """Return line and column of the first character of a value's content."""
    if not 1 <= at.line <= len(lines):
        return at.line, at.column
    sign = lines[at.line - 1][at.column - 1 : at.column]
    if sign in ("'", '"'):
        return at.line, at.column + 1
    return (at.line + 1, 1) if sign in (">", "|") else (at.line, at.column)
