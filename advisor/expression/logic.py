"""Checks the logic of an expression: comparisons, texts, flags, predicates, and, or, not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from advisor.expression import kinds
from advisor.expression.compiled import Code
from advisor.expression.context import Context, ExpressionNode, Handler, MistakeError, Parts, leaf
from advisor.expression.kinds import FLAG, TEXT

if TYPE_CHECKING:
    from lark import Token, Tree

__all__ = ["HANDLERS", "PREDICATES", "predicate"]

PREDICATES = ("stated", "assumed", "defaulted", "missing", "unknown", "unreadable", "known")


def predicate(context: Context, name: Token, arguments: Parts, close: Token) -> ExpressionNode:
    """Return the node of a question about how a fact is known, e.g. ``stated(motor.class)``."""
    if len(arguments) != 1 or arguments[0].data != "name":
        remedy = f"write it like '{name}(motor.run_current)'"
        raise MistakeError(f"{name} takes the name of one fact", remedy, name.start_pos or 0)
    fact = arguments[0].children[0]
    context.fact(fact)
    context.states.add(str(fact))
    return ExpressionNode([str(name), str(fact)], FLAG, name.start_pos or 0, close.end_pos or 0)


def _text(context: Context, parts: Parts) -> ExpressionNode:
    return leaf(["text", str(parts[0])[1:-1]], TEXT, parts[0])


def _flag(context: Context, parts: Parts) -> ExpressionNode:
    return leaf(["flag", str(parts[0]) == "true"], FLAG, parts[0])


def _compare(context: Context, parts: Parts) -> ExpressionNode:
    left = context.check(parts[0])
    tests: list[ExpressionNode] = []
    for sign, right in context.pairs(parts):
        tests.append(_compared(context, left, sign, right))
        left = right
    if len(tests) == 1:
        return tests[0]
    return context.node(["and", *(test.code for test in tests)], FLAG, tests)


def _compared(
    context: Context, left: ExpressionNode, sign: str, right: ExpressionNode
) -> ExpressionNode:
    both = [left, right]
    kind = context.joined(kinds.alike, both)
    if kind.type == "number":
        return context.node([sign, left.code, right.code], FLAG, both)
    if sign not in ("==", "!="):
        problem = f"{kind} has no order, '{sign}' compares numbers"
        context.refuse(left, problem, "use '==', '!=' or 'in (...)'")
    code: Code = [f"{kind.type}==", left.code, right.code]
    return context.node(code if sign == "==" else ["not", code], FLAG, both)


def _one_of(context: Context, parts: Parts) -> ExpressionNode:
    left = context.check(parts[0])
    if left.kind.type != "text":
        problem = f"'in' looks a text up in a list, this is {left.kind}"
        context.refuse(left, problem, "compare numbers with '<', '<=', '==', '>=' or '>'")
    words = [str(part)[1:-1] for part in parts if getattr(part, "type", "") == "TEXT"]
    return context.node(["in", left.code, *words], FLAG, [left], end=parts[-1].end_pos)


def _none_of(context: Context, parts: Parts) -> ExpressionNode:
    inner = _one_of(context, parts)
    return context.node(["not", inner.code], FLAG, [inner])


def _negate(context: Context, parts: Parts) -> ExpressionNode:
    inner = _condition(context, parts[1])
    return context.node(["not", inner.code], FLAG, [inner], start=parts[0].start_pos)


def _all_of(context: Context, parts: Parts) -> ExpressionNode:
    nodes = [_condition(context, part) for part in parts]
    return context.node(["and", *(node.code for node in nodes)], FLAG, nodes)


def _any_of(context: Context, parts: Parts) -> ExpressionNode:
    nodes = [_condition(context, part) for part in parts]
    return context.node(["or", *(node.code for node in nodes)], FLAG, nodes)


def _condition(context: Context, part: Tree[Token]) -> ExpressionNode:
    node = context.check(part)
    if node.kind.type != "flag":
        problem = f"'and', 'or' and 'not' join conditions, this is {node.kind}"
        context.refuse(node, problem, "compare it with something, e.g. 'x > 0.8 A'")
    return node


HANDLERS: Mapping[str, Handler] = {
    "text": _text,
    "flag": _flag,
    "compare": _compare,
    "one_of": _one_of,
    "none_of": _none_of,
    "negate": _negate,
    "all_of": _all_of,
    "any_of": _any_of,
}
