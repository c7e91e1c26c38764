"""Evaluates compiled expressions over the ensemble of plausible machines, in SI units.

A number is a float or an array, nan where unknown. A condition is a pair: where it surely
holds, and where it surely does not; where neither, it is unknown.

Logic is three-valued (S. C. Kleene, "On notation for ordinal numbers", J. Symbolic Logic 3,
1938): a comparison with something that is not known is neither true nor false.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping, Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from advisor.base import Fact, OriginKind, Quantity, State, known_ends
from advisor.expression.compiled import Code, Compiled, ExpressionResult, Result

__all__ = ["evaluate", "value_of"]

Facts = Mapping[str, Fact]
Holds: TypeAlias = bool | NDArray[np.bool_]
Pair: TypeAlias = tuple[Holds, Holds]
_UNKNOWN: Pair = (False, False)
_STATED = frozenset(
    (
        OriginKind.COMMAND,
        OriginKind.SHEET,
        OriginKind.PROFILE,
        OriginKind.CONFIG,
        OriginKind.MEASURED,
    )
)


def value_of(code: Code, kind: str, facts: Facts) -> Result:
    """Return the value of `code`, which gives a ``number``, ``text`` or ``flag``."""
    with np.errstate(all="ignore"):
        if kind == "text":
            return _text(code, facts)
        if kind == "flag":
            return _shown_pair(*_pair(code, facts))
        return _shown_number(_number(code, facts))


def _shown_number(value: Quantity) -> Quantity | None:
    if np.ndim(value):
        return None if np.isnan(value).all() else value
    return None if np.isnan(value) else float(value)


def _shown_pair(holds: Holds, fails: Holds) -> Holds | None:
    if not np.ndim(holds):
        if np.ndim(fails):  # it holds nowhere, and fails where an array says so
            return np.zeros(np.shape(fails), dtype=bool) if np.any(fails) else None
        return bool(holds) if holds or fails else None
    return holds if np.any(holds) or np.any(fails) else None


# --- numbers ------------------------------------------------------------------------------


def _number(code: Code, facts: Facts) -> Quantity:
    head = code[0]
    if head == "fact":
        return _fact_number(facts.get(code[1]))
    if head == "number":
        return float(code[1])
    return _ARITHMETIC[head](*(_number(part, facts) for part in code[1:]))


def _fact_number(fact: Fact | None) -> Quantity:
    number = None if fact is None else fact.number
    if number is None:
        return np.nan
    return number.si if np.ndim(number.si) else number.nominal


def _divide(left: Quantity, right: Quantity) -> Quantity:
    if isinstance(right, np.ndarray):
        return np.where(right == 0.0, np.nan, np.divide(left, right))
    return np.divide(left, right if right != 0.0 else np.nan)


def _power(base: Quantity, exponent: Quantity) -> Quantity:
    result = np.float_power(base, exponent)
    no_value = np.equal(base, 0.0) & np.less(exponent, 0.0)
    return np.where(no_value, np.nan, result)[()]


def _lowest(*values: Quantity) -> Quantity:
    return _folded(np.minimum, values)


def _highest(*values: Quantity) -> Quantity:
    return _folded(np.maximum, values)


def _folded(
    choose: Callable[[Quantity, Quantity], Quantity], values: Sequence[Quantity]
) -> Quantity:
    result = values[0]
    for value in values[1:]:
        result = choose(result, value)
    return result


def _nominal(value: Quantity) -> Quantity:
    return value[0] if isinstance(value, np.ndarray) else value


def _low(value: Quantity) -> Quantity:
    return known_ends(value)[0]


def _high(value: Quantity) -> Quantity:
    return known_ends(value)[1]


_ARITHMETIC: dict[str, Callable[..., Quantity]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": _divide,
    "^": _power,
    "neg": np.negative,
    "abs": np.abs,
    "sqrt": np.sqrt,
    "min": _lowest,
    "max": _highest,
    "nominal": _nominal,
    "low": _low,
    "high": _high,
}

# --- texts --------------------------------------------------------------------------------


def _text(code: Code, facts: Facts) -> str | None:
    if code[0] == "text":
        return str(code[1])
    fact = facts.get(code[1])
    return None if fact is None else fact.text


# --- conditions ---------------------------------------------------------------------------


def _pair(code: Code, facts: Facts) -> Pair:
    return _LOGIC[code[0]](code, facts)


def _compare(
    holds: Callable[[Quantity, Quantity], Holds], fails: Callable[[Quantity, Quantity], Holds]
) -> Callable[[Code, Facts], Pair]:
    def compare(code: Code, facts: Facts) -> Pair:
        left, right = _number(code[1], facts), _number(code[2], facts)
        if isinstance(left, np.ndarray) or isinstance(right, np.ndarray):
            return holds(left, right), fails(left, right)
        return bool(holds(left, right)), bool(fails(left, right))

    return compare


def _differ(left: Quantity, right: Quantity) -> Holds:
    return (left < right) | (left > right)  # false where one is nan


def _and(code: Code, facts: Facts) -> Pair:
    holds: Holds = True
    fails: Holds = False
    for part in code[1:]:
        here, not_here = _pair(part, facts)
        holds, fails = holds & here, fails | not_here
        if fails is True:
            return False, True
    return holds, fails


def _or(code: Code, facts: Facts) -> Pair:
    holds: Holds = False
    fails: Holds = True
    for part in code[1:]:
        here, not_here = _pair(part, facts)
        holds, fails = holds | here, fails & not_here
        if holds is True:
            return True, False
    return holds, fails


def _not(code: Code, facts: Facts) -> Pair:
    holds, fails = _pair(code[1], facts)
    return fails, holds


def _flag_fact(code: Code, facts: Facts) -> Pair:
    fact = facts.get(code[1])
    word = None if fact is None else fact.word
    return _UNKNOWN if word is None else (bool(word), not word)


def _flag(code: Code, facts: Facts) -> Pair:
    return code[1], not code[1]


def _same_text(code: Code, facts: Facts) -> Pair:
    left, right = _text(code[1], facts), _text(code[2], facts)
    return _UNKNOWN if left is None or right is None else (left == right, left != right)


def _same_flag(code: Code, facts: Facts) -> Pair:
    (left, no_left), (right, no_right) = _pair(code[1], facts), _pair(code[2], facts)
    return (left & right) | (no_left & no_right), (left & no_right) | (no_left & right)


def _in(code: Code, facts: Facts) -> Pair:
    text = _text(code[1], facts)
    return _UNKNOWN if text is None else (text in code[2:], text not in code[2:])


def _state(test: Callable[[Fact], bool], absent: bool = False) -> Callable[[Code, Facts], Pair]:
    def ask(code: Code, facts: Facts) -> Pair:
        fact = facts.get(code[1])
        answer = absent if fact is None else bool(test(fact))
        return answer, not answer

    return ask


def _stated(fact: Fact) -> bool:
    return fact.known and fact.origin.kind in _STATED


def _assumed(fact: Fact) -> bool:
    return fact.known and bool(fact.trace.assumed)


def _defaulted(fact: Fact) -> bool:
    return fact.known and (fact.origin.kind is OriginKind.DEFAULT or bool(fact.trace.defaulted))


_LOGIC: dict[str, Callable[[Code, Facts], Pair]] = {
    "and": _and,
    "or": _or,
    "not": _not,
    "<": _compare(operator.lt, operator.ge),
    "<=": _compare(operator.le, operator.gt),
    ">": _compare(operator.gt, operator.le),
    ">=": _compare(operator.ge, operator.lt),
    "==": _compare(operator.eq, _differ),
    "!=": _compare(_differ, operator.eq),
    "text==": _same_text,
    "flag==": _same_flag,
    "in": _in,
    "flag": _flag,
    "flag-fact": _flag_fact,
    "stated": _state(_stated),
    "assumed": _state(_assumed),
    "defaulted": _state(_defaulted),
    "missing": _state(lambda fact: fact.state is State.MISSING, absent=True),
    "unknown": _state(lambda fact: fact.state is State.UNKNOWN),
    "unreadable": _state(lambda fact: fact.state is State.UNREADABLE),
    "known": _state(lambda fact: fact.known),
}


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
    used = {
        name: fact
        for name in compiled.values
        if (fact := facts.get(name)) is not None and fact.known
    }
    return ExpressionResult(value_of(compiled.code, compiled.kind.type, facts), used)
