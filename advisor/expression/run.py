"""Evaluates compiled expressions over the ensemble of plausible machines, in SI units.

Logic is three-valued (S. C. Kleene, "On notation for ordinal numbers", J. Symbolic Logic 3,
1938): a comparison with something that is not known is neither true nor false.
"""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import Fact
from advisor.expression.compiled import Compiled, ExpressionResult

__all__ = ["evaluate"]


def evaluate(compiled: Compiled, facts: Mapping[str, Fact]) -> ExpressionResult:
    """Return what `compiled` comes to.

    Parameters
    ----------
    compiled : Compiled
        The expression.
    facts : mapping of str to Fact
        What is known; a fact that is not there is missing.

    Returns
    -------
    ExpressionResult
        Nothing raises here: what cannot be reckoned is unknown.
    """
    from advisor.expression.evaluator import value_of

    used = {
        name: fact
        for name in compiled.values
        if (fact := facts.get(name)) is not None and fact.known
    }
    return ExpressionResult(value_of(compiled.code, compiled.kind.type, facts), used)
