"""Checks the arithmetic of an expression: numbers with units, names, operators, functions."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from advisor.base import InputError, near_miss, parse_unit
from advisor.expression import kinds
from advisor.expression.compiled import Code
from advisor.expression.context import Context, ExpressionNode, Handler, MistakeError, Parts, leaf
from advisor.expression.kinds import NUMBER, Kind, MisfitError
from advisor.expression.logic import PREDICATES, predicate

if TYPE_CHECKING:
    from lark import Token

__all__ = ["HANDLERS"]


def _quantity(context: Context, parts: Parts) -> ExpressionNode:
    return _literal(parts[0], 1.0)


def _literal(token: Token, sign: float) -> ExpressionNode:
    number, unit_text = _split(token)
    value = sign * float(number)
    if not math.isfinite(value):
        problem = f"'{number}' is too large"
        raise MistakeError(problem, "write a number that can be", token.start_pos or 0)
    try:
        unit = parse_unit(unit_text)
    except InputError as err:
        at = (token.start_pos or 0) + len(token) - len(unit_text)
        raise MistakeError(err.problem, err.remedy or "", at) from None
    return leaf(["number", float(unit.to_si(value))], kinds.kind_of_unit(unit), token)


def _name(context: Context, parts: Parts) -> ExpressionNode:
    token = parts[0]
    kind = kinds.kind_of_fact(context.fact(token))
    context.values.add(str(token))
    word = {"number": "fact", "text": "text-fact", "flag": "flag-fact"}[kind.type]
    return leaf([word, str(token)], kind, token)


def _group(context: Context, parts: Parts) -> ExpressionNode:
    inner = context.check(parts[1])
    start, end = parts[0].start_pos, parts[2].end_pos
    return ExpressionNode(inner.code, inner.kind, start, end, inner.depth)


def _sign(context: Context, parts: Parts) -> ExpressionNode:
    token = parts[0]
    if token == "-" and parts[1].data == "quantity":  # so that -20 degC is a temperature
        number = _literal(parts[1].children[0], -1.0)
        return ExpressionNode(number.code, number.kind, token.start_pos, number.end)
    operand = context.check(parts[1])
    kind = context.joined(_scaled, [operand])
    code = operand.code if token == "+" else ["neg", operand.code]
    return context.node(code, kind, [operand], start=token.start_pos)


def _add(context: Context, parts: Parts) -> ExpressionNode:
    total = context.check(parts[0])
    for sign, right in context.pairs(parts):
        both = [total, right]
        kind = context.joined(kinds.added if sign == "+" else kinds.subtracted, both)
        total = context.node([sign, total.code, right.code], kind, both)
    return total


def _multiply(context: Context, parts: Parts) -> ExpressionNode:
    total = context.check(parts[0])
    for sign, right in context.pairs(parts):
        both = [total, right]
        kind = context.joined(kinds.multiplied if sign == "*" else kinds.divided, both)
        total = context.node([sign, total.code, right.code], kind, both)
    return total


def _raise_to(context: Context, parts: Parts) -> ExpressionNode:
    both = [context.check(part) for part in parts]
    base, power = both
    if not power.kind.plain:
        problem = f"an exponent must be a plain number, this is {power.kind}"
        context.refuse(power, problem, "divide by a unit first")
    exponent = _constant(power.code)
    kind = context.joined(lambda found: kinds.raised(found[0], exponent), both)
    return context.node(["^", base.code, power.code], kind, both)


def _call(context: Context, parts: Parts) -> ExpressionNode:
    name, close = parts[0], parts[-1]
    arguments = [part for part in parts[1:-1] if hasattr(part, "data")]
    if name in PREDICATES:
        return predicate(context, name, arguments, close)
    join = _FUNCTIONS.get(str(name))
    if join is None:
        known = (*_FUNCTIONS, *PREDICATES)
        hint = near_miss(str(name), known) or f"known are {', '.join(sorted(known))}"
        raise MistakeError(f"'{name}' is no function", hint, name.start_pos)
    nodes = [context.check(argument) for argument in arguments]
    if name in _SINGLE and len(nodes) != 1:
        problem = f"{name} takes one value, here are {len(nodes)}"
        raise MistakeError(problem, "give one", name.start_pos)
    code = [str(name), *(node.code for node in nodes)]
    kind = context.joined(join, nodes)
    return context.node(code, kind, nodes, start=name.start_pos, end=close.end_pos)


def _scaled(found: Sequence[Kind]) -> Kind:
    return kinds.multiplied([found[0], NUMBER])


def _chosen(found: Sequence[Kind]) -> Kind:
    if any(kind.type != "number" for kind in found):
        raise MisfitError("this takes numbers only", "give it numbers")
    return kinds.alike(found)


_FUNCTIONS: Mapping[str, Callable[[Sequence[Kind]], Kind]] = {
    "min": _chosen,
    "max": _chosen,
    "abs": _scaled,
    "sqrt": lambda found: kinds.rooted(found[0]),
    "nominal": _chosen,
    "low": _chosen,
    "high": _chosen,
}
_SINGLE = ("abs", "sqrt", "nominal", "low", "high")

HANDLERS: Mapping[str, Handler] = {
    "quantity": _quantity,
    "name": _name,
    "group": _group,
    "sign": _sign,
    "add": _add,
    "multiply": _multiply,
    "raise_to": _raise_to,
    "call": _call,
}

_NUMBER = re.compile(r"(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")


def _split(token: Token) -> tuple[str, str]:
    found = _NUMBER.match(token)
    number = found[0] if found else str(token)
    return number, token[len(number) :].strip()


def _constant(code: Code) -> float | None:
    """Return the number that `code` is, if it is written as one."""
    if code[0] == "neg":
        inner = _constant(code[1])
        return None if inner is None else -inner
    return float(code[1]) if code[0] == "number" else None
