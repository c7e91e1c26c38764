"""Cuts a text into its lines and names the kind of each; one pass of the lark lexer.

What a line means beside its neighbours is left to the reader. Nothing is copied or kept but
where each line begins and its kind.
"""

from __future__ import annotations

import functools
from array import array
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from advisor.base import frozen
from advisor.data import Terminal, build_lexer, load_lexer

if TYPE_CHECKING:
    from lark.lexer import BasicLexer

__all__ = ["ARTIFACTS", "MAX_LINES", "CutLines", "build_grammar", "cut_lines", "kind_at"]

MAX_LINES = 500_000  # of one file; no config comes near it, and time and memory stay bounded
_FILE, _START = "config_lines.lark", "document"


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
