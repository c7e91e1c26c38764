"""The line grammar: compiled to JSON and back, complete, and linear in the text."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given
from strategies import config_text, many

from advisor.base import DataError
from advisor.config import read_document, reader as lexing
from advisor.data import grammar, resources


def test_compiled_form_is_plain_json() -> None:
    """Text in, text out: no object of a program is stored."""
    stored = lexing.build_grammar()

    assert json.loads(json.dumps(stored)) == stored


def test_lexer_from_json_is_the_lexer_of_the_grammar(monkeypatch: pytest.MonkeyPatch) -> None:
    """The restored terminals are the grammar's, in the same order, with the same patterns."""
    from lark import Lark

    text = resources.read_text("grammars", "config_lines.lark")
    built = Lark(text, parser="lalr", lexer="basic", start="document").parser.lexer
    stored = json.loads(json.dumps(lexing.build_grammar()))
    monkeypatch.setattr(grammar, "artifact", lambda name, build: stored)
    restored = grammar.load_lexer("grammar-config", "config_lines.lark", "document")

    assert [(t.name, t.pattern.to_regexp()) for t in restored.terminals] == [
        (t.name, t.pattern.to_regexp()) for t in built.terminals
    ]


@many
@given(config_text(includes=True))
def test_tokens_of_the_parser_are_our_lines(text: str) -> None:
    """Lark's own lexing of the whole text gives the lines that the reader begins with."""
    tokens = list(PARSER.lex(text))
    lines = lexing.cut_lines(text, 0)

    assert [token.type for token in tokens] == lines.kinds
    assert [token.start_pos for token in tokens] == list(lines.starts[:-1])


def _parser():  # type: ignore[no-untyped-def]
    from lark import Lark

    text = resources.read_text("grammars", "config_lines.lark")
    return Lark(text, parser="lalr", lexer="basic", start="document")


PARSER = _parser()


def test_no_pattern_tries_anything_twice() -> None:
    """Every repeat in the grammar is possessive, so that the time is linear."""
    text = resources.read_text("grammars", "config_lines.lark")
    rules = [line for line in text.splitlines() if ": " in line and not line.startswith("//")]
    patterns = [part for line in rules for part in re.findall(r"/((?:[^/\\]|\\.)+)/", line)]

    assert len(patterns) > 10
    for pattern in patterns:
        plain = re.sub(r"\\.|\[(?:\\.|[^\]])*\]", "x", pattern)
        assert not re.search(r"(?<![*+?}])[*+](?!\+)|\?\?", plain.replace("(?", "(")), pattern


def test_a_mistake_in_a_grammar_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever edits a grammar gets a sentence, not a traceback of the grammar reader."""
    monkeypatch.setattr(grammar, "read_text", lambda kind, name: "start: NOTHING")

    with pytest.raises(DataError, match=r"grammars/x.lark is no grammar: .*NOTHING"):
        grammar.build_lexer("x.lark", "start")


def test_reading_does_not_depend_on_what_was_read_before() -> None:
    """The lexer keeps no state between texts."""
    first = read_document(b"[s]\nk: 1\n", "x.cfg")
    read_document(b"word\n<<<<<<<\n", "y.cfg")

    assert read_document(b"[s]\nk: 1\n", "x.cfg").kinds == first.kinds
