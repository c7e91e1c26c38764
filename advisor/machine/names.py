"""Holds the facts that formulas and code name to the vocabulary, before any of them is used.

Formulas are checked when machines are worked out, the texts of the code when the package is built:
so a misspelt name in a table, an answer or a report is refused with its place, and is no fact that
is quietly missing.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping

from advisor.base import DataError, Span, near_miss
from advisor.catalog import FactInfo
from advisor.machine.graph import Formula

__all__ = ["check_code", "check_names"]

_PLACEHOLDER = re.compile(r"\{([^{}]+)\}")


def check_names(formulas: Iterable[Formula], facts: Mapping[str, FactInfo]) -> None:
    """Make sure that every fact a formula gives, takes or speaks of is in rules/facts.yaml.

    Parameters
    ----------
    formulas : iterable of Formula
        The formulas.
    facts : mapping of str to FactInfo
        The vocabulary.

    Raises
    ------
    DataError
        For the first that is not; names the formula and the closest fact there is.
    """
    for formula in formulas:
        for role, name in _named(formula):
            if name not in facts:
                problem = f"the formula of '{formula.output}' {role} '{name}', which is no fact"
                known = "the facts are listed in rules/facts.yaml"
                raise DataError(problem, near_miss(name, facts) or known)


def _named(formula: Formula) -> Iterator[tuple[str, str]]:
    yield "gives", formula.output
    for name in formula.inputs.values():
        yield "takes", name.removesuffix("?")
    for name in _PLACEHOLDER.findall(formula.words):
        yield "speaks of", name


def check_code(code: Mapping[str, str], facts: Iterable[str], others: Iterable[str] = ()) -> None:
    """Make sure that every text of the code that looks like a fact's name is one.

    Parameters
    ----------
    code : mapping of str to str
        The texts of modules, by the name to show.
    facts : iterable of str
        The names of the facts.
    others : iterable of str
        Other names of their form: the fields of the sheet.

    Raises
    ------
    DataError
        For the first that is none; names its place and the closest fact there is. A text that is
        put together, or ends in a dot, has to begin as a fact does.
    """
    known = frozenset(facts)
    groups = "|".join(sorted({name.partition(".")[0] for name in known}))
    shape = re.compile(rf"(?:{groups})\.[a-z0-9_]*\??")
    named = known | frozenset(others)
    for file, text in code.items():
        tree = ast.parse(text)
        begun = {id(part) for whole in ast.walk(tree) if isinstance(whole, ast.JoinedStr)
                 for part in whole.values}  # fmt: skip
        for node in ast.walk(tree):
            if not isinstance(node, ast.Constant) or not isinstance(node.value, str):
                continue
            name = node.value.removesuffix("?")
            if not shape.fullmatch(node.value) or name in named:
                continue
            begins = id(node) in begun or name.endswith(".")
            if begins and any(one.startswith(name) for one in known):
                continue
            hint = near_miss(name, known) or "the facts are listed in rules/facts.yaml"
            at = Span(file, node.lineno, node.col_offset + 1)
            raise DataError(f"'{name}' is no fact", hint, at)
