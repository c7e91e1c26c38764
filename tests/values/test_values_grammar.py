"""The value grammar: compiled to JSON and back; plain numbers need no grammar at all."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from advisor import grammar, resources, values


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
    program = (
        "import sys; from advisor.values import parse_number, parse_integer, why_no_number;"
        "parse_number('5'); parse_integer('5'); why_no_number('5 A'); print('lark' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=resources.folder("grammars").parent,
    )

    assert done.stdout.strip() == "False"
