"""Holds the facts that formulas name to the vocabulary, before any of them is used."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from advisor.catalog import FactInfo
from advisor.errors import DataError, near_miss
from advisor.facts.graph import Formula

__all__ = ["check_names"]

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
