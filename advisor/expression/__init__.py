"""The condition language: compiled with its units checked, evaluated over the ensemble.

Rules, the firmware's defaults and the suggestions of the catalogue are written in it. It
knows facts only as records of `advisor.model` and a vocabulary of names and units; it knows
no rule, and it never runs Python from a text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from advisor.expression.compiled import Compiled, Outcome
from advisor.expression.compiler import compile_expression, syntax_tree, tables
from advisor.expression.kinds import Described, Kind, Vocabulary, kind_of_fact, kind_of_unit
from advisor.expression.run import evaluate

__all__ = [
    "ARTIFACTS",
    "Compiled",
    "Described",
    "Kind",
    "Outcome",
    "Vocabulary",
    "compile_expression",
    "evaluate",
    "kind_of_fact",
    "kind_of_unit",
    "syntax_tree",
]

ARTIFACTS: Mapping[str, Callable[[], Any]] = {"grammar-expression": tables}
