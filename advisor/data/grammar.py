"""Loads the lark grammars of grammars/ from tables that were made when the package was built.

The tables are lark's own serialised form, as plain JSON: no pickle, no generated code. Where
nothing was compiled they are built from the grammar file on the spot. It knows no grammar.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypeAlias, TypedDict, TypeVar

from advisor.base import DataError
from advisor.data.resources import artifact, read_text

if TYPE_CHECKING:
    from lark import Lark
    from lark.lexer import BasicLexer

__all__ = [
    "ParserTables", "Terminal", "build_lexer", "build_parser", "load_lexer", "load_parser",
]  # fmt: skip


T = TypeVar("T")

Terminal: TypeAlias = "dict[str, object]"
"""A terminal as lark writes it down."""


class ParseTable(TypedDict):
    """What a parser does in each state with each token, as lark writes it down."""

    tokens: dict[int, str]
    states: dict[int, dict[int, tuple[int, int]]]
    start_states: dict[str, int]
    end_states: dict[str, int]


class ParserTables(TypedDict):
    """A parser as lark writes it down, and the terminals and rules it names by number."""

    tables: dict[str, dict[str, ParseTable]]
    memo: dict[int, dict[str, object]]


_SHIFT = 0  # lark's word for going to a state, in its serialised tables


def build_parser(file: str, starts: Sequence[str]) -> ParserTables:
    """Return the JSON tables of an LALR grammar with these start symbols.

    The numbers of states and tokens are our own: lark's hang on the order of its sets, which
    Python changes from run to run, and what is built twice should be the same bytes.

    Raises
    ------
    DataError
        If the grammar file has a mistake in it.
    """
    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    tables, memo = _compile(file, starts, "contextual").memo_serialize([TerminalDef, Rule])
    parser = {**tables["parser"], "parser": _in_order(tables["parser"]["parser"])}
    return {"tables": {**tables, "parser": parser}, "memo": memo}


def load_parser(name: str, file: str, starts: Sequence[str]) -> Lark:
    """Return the parser whose compiled tables are the artifact `name`.

    Notes
    -----
    JSON turns the integer keys of the memo, the token list and the parse table into text;
    they are turned back here.
    """
    stored = artifact(name, lambda: build_parser(file, starts))

    from lark import Lark

    kept = stored["tables"]["parser"]["parser"]
    states = {state: _numbered(row) for state, row in _numbered(kept["states"]).items()}
    table: ParseTable = {**kept, "tokens": _numbered(kept["tokens"]), "states": states}
    tables = {**stored["tables"], "parser": {**stored["tables"]["parser"], "parser": table}}
    memo = _numbered(stored["memo"])
    # lark restores its saved tables by this call; the public one takes a pickle only
    parser: Lark = Lark._load_from_dict(tables, memo)  # type: ignore[no-untyped-call] # noqa: SLF001
    return parser


def build_lexer(file: str, start: str) -> list[Terminal]:
    """Return the terminals of a grammar as JSON, for use without its rules.

    Raises
    ------
    DataError
        If the grammar file has a mistake in it.
    """
    return [terminal.serialize() for terminal in _compile(file, [start], "basic").terminals]


def load_lexer(name: str, file: str, start: str) -> BasicLexer:
    """Return lark's basic lexer over the terminals that are the artifact `name`."""
    stored = artifact(name, lambda: build_lexer(file, start))

    import re

    from lark.common import LexerConf
    from lark.lexer import BasicLexer, TerminalDef

    terminals = [TerminalDef.deserialize(terminal, {}) for terminal in stored]
    return BasicLexer(LexerConf(terminals, re, skip_validation=True))


def _compile(file: str, starts: Sequence[str], lexer: str) -> Lark:
    from lark import Lark
    from lark.exceptions import LarkError

    try:
        return Lark(read_text("grammars", file), parser="lalr", lexer=lexer, start=list(starts))
    except LarkError as err:
        words = str(err).strip().splitlines()[0]
        raise DataError(f"grammars/{file} is no grammar: {words}", "mend the grammar") from err


def _in_order(table: ParseTable) -> ParseTable:
    """Return a parse table with its tokens numbered by name, its states as they are reached.

    From the start states by name, each state's successors by the token that leads there.
    """
    names, rows = table["tokens"], table["states"]
    ways = {
        state: sorted((names[token], action) for token, action in row.items())
        for state, row in rows.items()
    }
    starts = [table["start_states"][name] for name in sorted(table["start_states"])]
    reached = _reached(starts, ways)
    number = {state: place for place, state in enumerate(reached)}
    token = {name: place for place, name in enumerate(sorted(names.values()))}
    states = {
        number[state]: {
            token[name]: (action, number[goal] if action == _SHIFT else goal)
            for name, (action, goal) in ways[state]
        }
        for state in reached
    }
    return {
        **table,
        "tokens": {place: name for name, place in token.items()},
        "states": states,
        "start_states": _renumbered(table["start_states"], number),
        "end_states": _renumbered(table["end_states"], number),
    }


def _reached(
    starts: Sequence[int], ways: Mapping[int, Sequence[tuple[str, tuple[int, int]]]]
) -> list[int]:
    """Return the states in the order in which they are reached."""
    reached = list(starts)
    for state in reached:  # grows
        shifts = (goal for _, (action, goal) in ways[state] if action == _SHIFT)
        reached.extend(goal for goal in dict.fromkeys(shifts) if goal not in reached)
    return reached


def _renumbered(states: Mapping[str, int], number: Mapping[int, int]) -> dict[str, int]:
    return {name: number[state] for name, state in sorted(states.items())}


def _numbered(mapping: Mapping[int, T]) -> dict[int, T]:
    return {int(key): value for key, value in mapping.items()}
