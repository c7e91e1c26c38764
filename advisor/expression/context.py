"""What the walk over an expression's tree carries along: text, vocabulary, nodes, mistakes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NoReturn, TypeAlias

from advisor.base import InputError, frozen, near_miss, parse_unit
from advisor.expression.compiled import Code
from advisor.expression.kinds import Described, Kind, MisfitError, Vocabulary

if TYPE_CHECKING:
    from lark import Token, Tree

__all__ = ["Context", "ExpressionNode", "Handler", "MistakeError", "Parts", "leaf"]

_DEEPEST = 60
_QUOTED = 60  # characters of an operand that a message quotes

Parts: TypeAlias = "Sequence[Any]"
"""The children of a tree: trees and tokens."""


class MistakeError(Exception):
    """What is wrong at an offset of the text, and what to do about it."""

    def __init__(self, problem: str, remedy: str, offset: int) -> None:
        super().__init__(problem, remedy, offset)
        self.problem = problem
        self.remedy = remedy
        self.offset = offset


@frozen
class ExpressionNode:
    """A checked part: its code, its kind, where it stands and how deep it nests."""

    code: Code
    kind: Kind
    start: int
    end: int
    depth: int = 1


class Context:
    """One expression under check: its text, the facts it may name and those it names.

    Parameters
    ----------
    text : str
        The whole expression, for quotations.
    vocabulary : mapping
        The facts it may name.
    handlers : mapping of str to callable
        What checks the children of a tree of this name.
    """

    def __init__(self, text: str, vocabulary: Vocabulary, handlers: Mapping[str, Handler]) -> None:
        self.text = text
        self.vocabulary = vocabulary
        self.values: set[str] = set()
        self.states: set[str] = set()
        self._handlers = handlers
        self._level = 0

    def check(self, tree: Tree[Token]) -> ExpressionNode:
        """Return the checked node of `tree`."""
        if self._level > _DEEPEST:
            raise MistakeError("the expression nests too deep", "split it", _start(tree))
        self._level += 1
        node = self._handlers[str(tree.data)](self, tree.children)
        self._level -= 1
        return node

    def pairs(self, parts: Parts) -> list[tuple[str, ExpressionNode]]:
        """Return the operators after the first operand, each with the operand behind it."""
        return [
            (str(operator), self.check(operand))
            for operator, operand in zip(parts[1::2], parts[2::2], strict=True)
        ]

    def joined(
        self, join: Callable[[Sequence[Kind]], Kind], nodes: Sequence[ExpressionNode]
    ) -> Kind:
        """Return the kind that `join` makes of the kinds of `nodes`."""
        try:
            return join([node.kind for node in nodes])
        except MisfitError as misfit:
            quoted = " and ".join(f"'{self.quote(node)}'" for node in nodes)
            problem = f"{quoted}: {misfit.problem}"
            raise MistakeError(problem, misfit.remedy, nodes[0].start) from None

    def fact(self, token: Token) -> str | Described:
        """Return the vocabulary's entry for a name."""
        fact = self.vocabulary.get(str(token))
        if fact is None:
            problem = f"there is no fact '{token}'"
            raise MistakeError(problem, self._meant(str(token)), token.start_pos or 0)
        return fact

    def node(
        self,
        code: Code,
        kind: Kind,
        nodes: Sequence[ExpressionNode],
        *,
        start: int | None = None,
        end: int | None = None,
    ) -> ExpressionNode:
        """Return the node made of `nodes`."""
        depth = 1 + max(node.depth for node in nodes)
        start = nodes[0].start if start is None else start
        if depth > _DEEPEST:
            raise MistakeError("the expression nests too deep", "split it", start)
        return ExpressionNode(code, kind, start, nodes[-1].end if end is None else end, depth)

    def quote(self, node: ExpressionNode) -> str:
        """Return the text of a node for a message, shortened."""
        text = " ".join(self.text[node.start : node.end].split())
        return text if len(text) <= _QUOTED else f"{text[: _QUOTED - 3]}..."

    def refuse(self, node: ExpressionNode, problem: str, remedy: str) -> NoReturn:
        """Raise the mistake that stands at `node`."""
        raise MistakeError(f"'{self.quote(node)}': {problem}", remedy, node.start)

    def _meant(self, name: str) -> str:
        if hint := near_miss(name, self.vocabulary):
            return hint
        try:
            parse_unit(name)
        except InputError:
            return "the facts are listed in rules/facts.yaml; a text stands in quotes"
        return "a unit stands right behind its number, without blanks: '10 mm/s'"


Handler: TypeAlias = Callable[[Context, Parts], ExpressionNode]


def leaf(code: Code, kind: Kind, token: Token) -> ExpressionNode:
    """Return the node of one token."""
    start = token.start_pos or 0
    return ExpressionNode(code, kind, start, start + len(token))


def _start(tree: Tree[Token] | Token) -> int:
    while not isinstance(tree, str):  # a token is a text
        if not tree.children:
            return 0
        tree = tree.children[0]
    return tree.start_pos or 0
