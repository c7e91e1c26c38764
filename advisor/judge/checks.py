"""The schema of a rule in YAML: keys, words and lists; it knows no rule by name."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import NoReturn, TypedDict, TypeVar

from advisor.base import Span, frozen
from advisor.data import (
    Kind,
    Node,
    either,
    flag,
    listed,
    names,
    number,
    raw,
    row,
    string,
    text,
    typed,
    word,
)
from advisor.judge.records import STAGES

T = TypeVar("T")

__all__ = ["EVENTS", "LEVELS", "RULE", "EventKind", "RuleText", "locator"]


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


LEVELS = ("error", "warning", "note")
_WORD = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\Z")


def _line(node: Node) -> str:
    """Read a text, on one line."""
    return " ".join(text(node).split())


def _hyphened(node: Node) -> str:
    """Read a word in lower case, joined by hyphens."""
    if not isinstance(node.data, str) or not _WORD.match(node.data):
        raise node.wrong(f"is '{node.data}'", "write words in lower case with hyphens")
    return node.data


def _some(kind: Kind[T]) -> Kind[list[T]]:
    """Read a list, or the one value that stands alone, as a list."""
    return either((list, listed(kind)), (object, lambda node: [kind(node)]))


_FIX = row(
    {"set": _line, "to": raw, "round": word(("down", "up", "nearest")), "step": number(above=0.0)},
    {"unit": string},
)
_EXAMPLES = row({"holds": listed(raw, least=1), "fails": listed(raw, least=1)})
EVENTS = names(row({"fields": listed(string)}, {"what": text}))


@frozen
class EventKind:
    """A kind of event and the fields it brings."""

    name: str
    fields: tuple[str, ...]


class FixGiven(TypedDict, total=False):
    """A rule's fix as it is read."""

    set: str
    to: object
    round: str
    step: float
    unit: str


class RuleGiven(TypedDict, total=False):
    """A rule as it is read; what may be left out is not there."""

    name: str
    title: str
    message: str
    why: str
    level: str
    stage: str
    source: list[str]
    examples: Mapping[str, Sequence[Mapping[str, object]]]
    when: str
    advice: str
    caution: str
    scope: str
    event: str
    grouped: bool
    words: Mapping[str, Mapping[str, str]]
    milder: Mapping[str, str]
    at: list[str]
    fix: FixGiven
    supersedes: list[str]


RULE = typed(
    RuleGiven,
    row(
        {
            **dict.fromkeys(("title", "message", "why"), _line),
            "name": _hyphened,
            "level": word(LEVELS),
            "stage": word(STAGES),
            "source": _some(_hyphened),
            "examples": _EXAMPLES,
        },
        {
            **dict.fromkeys(("when", "advice", "caution"), _line),
            "scope": word(("extruder", "machine")),
            "event": _hyphened,
            "grouped": flag,
            "words": names(names(raw)),
            "milder": row({}, dict.fromkeys(("warning", "note"), _line)),
            "at": _some(_line),
            "fix": _FIX,
            "supersedes": _some(_hyphened),
        },
    ),
)


@frozen
class RuleText:
    """One rule as it is read, with the places of its parts in the lines of its file."""

    node: Node
    lines: list[str]
    row: RuleGiven

    def fail(self, problem: str, remedy: str, *path: str | int) -> NoReturn:
        """Raise a mistake at the rule, or at a value of it."""
        raise self.node.into(*path).wrong(problem, remedy)

    @property
    def place(self) -> Span:
        """Where the rule begins."""
        return self.node.placed.at(*self.node.path)

    def locate(self, *path: str | int) -> Callable[[int], Span]:
        """Return what finds the place of a character of a text of the rule."""
        part = self.node.into(*path)
        value = " ".join(str(part.data).split())
        return locator(value, part.placed.at(*part.path), self.lines)
