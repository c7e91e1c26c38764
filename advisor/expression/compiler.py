"""Turns the text of an expression into checked code; every mistake names its column.

Only here is the grammar needed: it runs when data files are compiled, not when they are used.
Texts are bounded in length and depth, so that no text can exhaust the machine.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from advisor.base import DataError, InputError, Span, parse_unit
from advisor.data import ParserTables, build_parser, load_parser
from advisor.expression import arithmetic, logic
from advisor.expression.compiled import Compiled
from advisor.expression.context import Context, MistakeError
from advisor.expression.kinds import Kind, Vocabulary, kind_of_unit

if TYPE_CHECKING:
    from lark import Lark, Token, Tree

__all__ = ["ARTIFACTS", "Place", "compile_expression", "syntax_tree", "tables"]

Place = Span | Callable[[int], Span] | None
"""Where the text begins, or a function from the offset of a character to its place."""

_FILE, _STARTS = "expression.lark", ("start",)
_LONGEST = 2000  # characters
_DEEPEST = 40  # nested brackets
_NO_PLACE = Span("expression", 1)


def tables() -> ParserTables:
    """Return the compiled tables of the grammar: the artifact ``grammar-expression``."""
    return build_parser(_FILE, _STARTS)


def compile_expression(
    text: str, vocabulary: Vocabulary, *, expected: str | None = None, at: Place = None
) -> Compiled:
    """Return `text` as checked code.

    Parameters
    ----------
    text : str
        E.g. ``motor.run_current > 0.8 * motor.rated_current_rms and stated(motor.class)``.
    vocabulary : mapping
        The facts that may be named: name to unit ('' for a text), or to a record with
        ``unit`` and ``type``.
    expected : str, optional
        What it must give: ``condition``, ``text``, or a unit whose dimension and sort it must
        have ('-' for a plain number).
    at : Span or callable, optional
        Where the text stands: the place of its first character, or offset to place.

    Returns
    -------
    Compiled
        Numbers in it are SI.

    Raises
    ------
    DataError
        If it is no expression, names an unknown fact, or its units do not fit.
    """
    context = Context(text, vocabulary, {**arithmetic.HANDLERS, **logic.HANDLERS})
    try:
        node = context.check(_parse(text))
        _check_result(node.kind, expected)
    except MistakeError as mistake:
        raise DataError(mistake.problem, mistake.remedy, _place(at, mistake.offset)) from None
    values, states = context.values, context.states - context.values
    return Compiled(text, node.code, node.kind, tuple(sorted(values)), tuple(sorted(states)))


def _place(at: Place, offset: int) -> Span:
    if callable(at):
        return at(offset)
    start = at or _NO_PLACE
    return Span(start.file, start.line, start.column + offset)


def _check_result(kind: Kind, expected: str | None) -> None:
    if expected is None:
        return
    if expected in ("condition", "text"):
        word = {"condition": "flag", "text": "text"}[expected]
        if kind.type != word:
            raise MistakeError(
                f"this gives {kind}, a {expected} is due", "compare it with a value", 0
            )
        return
    due = kind_of_unit(parse_unit(expected))
    if kind.type != "number" or not kind.fits(due):
        raise MistakeError(f"this gives {kind}, {due} is due", "bring it to this unit", 0)


@functools.cache
def _parser() -> Lark:
    return load_parser("grammar-expression", _FILE, _STARTS)


def syntax_tree(text: str) -> Tree[Token]:
    """Return the syntax tree of a text that compiles, for those who say it in words."""
    return _parse(text)


def _parse(text: str) -> Tree[Token]:
    from lark.exceptions import UnexpectedCharacters, UnexpectedToken

    _check_size(text)
    try:
        return _parser().parse(text)
    except UnexpectedCharacters as err:
        raise _no_fit(text, err.pos_in_stream or 0) from None
    except UnexpectedToken as err:
        offset = len(text) if err.token.type == "$END" else int(err.token.start_pos or 0)
        raise _no_fit(text, offset) from None


def _check_size(text: str) -> None:
    if not text.strip():
        raise MistakeError("the expression is empty", "write one, e.g. 'nozzle.diameter > 1 mm'", 0)
    if len(text) > _LONGEST:
        problem = f"the expression has {len(text)} characters"
        raise MistakeError(problem, f"keep it under {_LONGEST}", _LONGEST)
    depth = 0
    for found in _BRACKETS.finditer(text):
        depth += {"(": 1, ")": -1}.get(found[0], 0)
        if depth > _DEEPEST:
            raise MistakeError("the brackets nest too deep", "split the expression", found.start())


_BRACKETS = re.compile(r"\"[^\"]*\"|'[^']*'|[()]")
_FOREIGN = (
    (r"&&?", "write 'and'"),
    (r"\|\|?", "write 'or'"),
    (r"!(?!=)", "write 'not'"),
    (r"=(?!=)", "write '==' to compare"),
    (r"\*\*?", "write '^' for a power"),
    (r"<>", "write '!='"),
    (r"\u2264|=<", "write '<='"),
    (r"\u2265|=>", "write '>='"),
    (r"[\"']", "close the quotes"),
    (r",\d", "write a decimal point"),
    (r"\)", "open this bracket or take it away"),
)


def _no_fit(text: str, offset: int) -> MistakeError:
    """Return the mistake at `offset`, with what the writer may have meant."""
    rest = text[offset:]
    if not rest.strip():
        remedy = "close the bracket" if text.count("(") > text.count(")") else "finish it"
        return MistakeError("the expression ends too soon", remedy, offset)
    quoted = re.match(r"\w[\w.]*|.", rest, re.DOTALL)
    word = quoted[0][:40] if quoted else rest[0]
    for pattern, remedy in _FOREIGN:
        if re.match(pattern, rest):
            return MistakeError(f"'{word}' does not fit here", remedy, offset)
    return MistakeError(f"'{word}' does not fit here", _remedy_for(word), offset)


def _remedy_for(word: str) -> str:
    try:
        parse_unit(word)
    except InputError:
        return "an operator such as 'and', '<' or '*' is due before it, or a value"
    return "a unit stands right behind its number, without blanks beside a stroke: '10 mm/s'"


ARTIFACTS: Mapping[str, Callable[[], object]] = {"grammar-expression": tables}
