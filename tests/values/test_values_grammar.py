"""The value grammar: compiled to JSON and back; plain numbers need no grammar at all."""

from __future__ import annotations

import importlib
import json

import pytest
from fresh import wanted_by

from advisor.data import grammar, resources, values


def test_parser_from_json_parses_as_the_grammar_does(monkeypatch: pytest.MonkeyPatch) -> None:
    """The restored tables give the same trees for both start symbols."""
    from lark import Lark

    text = resources.read_text("grammars", "values.lark")
    built = Lark(text, parser="lalr", start=["ratio", "quantity"])
    stored = json.loads(json.dumps(values.build_grammar()))
    monkeypatch.setattr(grammar, "artifact", lambda name, build: stored)
    restored = grammar.load_parser("grammar-values", "values.lark", ("ratio", "quantity"))

    for start, sample in (
        ("ratio", "44:7, 37:17"),
        ("quantity", "0.09..0.14 N m"),
        ("quantity", "5"),
        ("quantity", "1..2..3 mm"),
    ):
        assert restored.parse(sample, start=start) == built.parse(sample, start=start)


def test_plain_numbers_do_not_load_lark() -> None:
    """The commonest values cost no grammar: neither the import nor the tables."""
    with wanted_by("lark") as wanted:
        anew = importlib.import_module("advisor.data.values")
        assert (anew.parse_number("5"), anew.parse_integer("5")) == (5.0, 5)
        anew.why_no_number("5 A")

    assert wanted == set()
