"""Evaluates what a macro's template states literally: numbers, defaults of parameters, arithmetic.

``{% set e = params.E|default(1.7)|float %}`` gives e its default; ``{e * 60}`` is then a number.
Whatever hangs on the running machine is not known, and is never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

__all__ = ["Variables", "evaluated"]

_LONGEST = 200  # characters of an expression that is looked at
_SET = re.compile(r"\{%-?\s*set\s+(\w+)\s*=\s*(.*?)\s*-?%\}")
_INSERT = re.compile(r"\{([^{}%]*)\}")
_TOKEN = re.compile(
    r"\s*(?:(\d+\.?\d*|\.\d+)|([A-Za-z_][\w.]*)|'([^']*)'|\"([^\"]*)\"|([-+*/()|,]))"
)
_UNDEFINED = object()  # a parameter that was not given


class Variables:
    """The values that a macro's own `set` lines give to names; one set twice is not known."""

    def __init__(self) -> None:
        self._values: dict[str, float | None] = {}

    def take(self, text: str) -> bool:
        """Take in a line that sets names; False where the line is none."""
        found = list(_SET.finditer(text))
        for one in found:
            name, value = one[1], _number(one[2], self._values)
            again = name in self._values and self._values[name] != value
            self._values[name] = None if again else value
        return bool(found)

    @property
    def values(self) -> Mapping[str, float | None]:
        """What is known of each name."""
        return self._values


def evaluated(text: str, variables: Variables) -> str:
    """Return a line with every ``{expression}`` that is known replaced by its number."""

    def put(found: re.Match[str]) -> str:
        value = _number(found[1], variables.values)
        return found[0] if value is None else f"{value:.9g}"

    return _INSERT.sub(put, text)


def _number(text: str, names: Mapping[str, float | None]) -> float | None:
    tokens = _tokens(text)
    if tokens is None:
        return None
    reader = _MacroReader(tokens, names)
    try:
        value = reader.sum()
    except (IndexError, ZeroDivisionError, OverflowError, ValueError):
        return None
    done = reader.at == len(tokens)
    return float(value) if done and isinstance(value, (int, float)) else None


def _tokens(text: str) -> list[str] | None:
    if len(text) > _LONGEST:
        return None
    tokens, at = [], 0
    text = text.rstrip()
    while at < len(text):
        found = _TOKEN.match(text, at)
        if found is None:
            return None
        number, name, one, two, mark = found.groups()
        quoted = one if one is not None else two
        tokens.append(number or name or mark or f"'{quoted}")
        at = found.end()
    return tokens or None


class _MacroReader:
    """Reads sums of products of values with filters; a value that is not known is None."""

    def __init__(self, tokens: list[str], names: Mapping[str, float | None]) -> None:
        self.tokens, self.names, self.at = tokens, names, 0

    def next(self, *wanted: str) -> str | None:
        """Take the next token where it is one of these."""
        if self.at < len(self.tokens) and self.tokens[self.at] in wanted:
            self.at += 1
            return self.tokens[self.at - 1]
        return None

    def sum(self) -> object:
        """Return the value of a sum."""
        value = self.product()
        while mark := self.next("+", "-"):
            value = _joined(mark, value, self.product())
        return value

    def product(self) -> object:
        """Return the value of a product."""
        value = self.filtered()
        while mark := self.next("*", "/"):
            value = _joined(mark, value, self.filtered())
        return value

    def filtered(self) -> object:
        """Return a value behind its filters."""
        value = self.plain()
        while self.next("|"):
            name, self.at = self.tokens[self.at], self.at + 1
            value = _filtered(name, value, self.arguments())
        return value

    def arguments(self) -> list[object]:
        """Return what stands in the parentheses of a filter."""
        if not self.next("("):
            return []
        found: list[object] = []
        while not self.next(")"):
            found.append(self.sum())
            self.next(",")
        return found

    def plain(self) -> object:
        """Return a number, a name's value or what stands in parentheses."""
        token, self.at = self.tokens[self.at], self.at + 1
        if token == "-":
            return _joined("-", 0.0, self.plain())
        if token == "(":
            value = self.sum()
            if not self.next(")"):
                raise ValueError(token)
            return value
        if token[0] == "'":
            return _as_number(token[1:])
        if token[0].isdigit() or token[0] == ".":
            return float(token)
        if token.startswith("params."):
            return _UNDEFINED
        return self.names.get(token)


def _as_number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _joined(mark: str, one: object, other: object) -> float | None:
    if not isinstance(one, float) or not isinstance(other, float):
        return None
    return _MARKS[mark](one, other)


_MARKS: Mapping[str, Callable[[float, float], float]] = {
    "+": lambda one, other: one + other,
    "-": lambda one, other: one - other,
    "*": lambda one, other: one * other,
    "/": lambda one, other: one / other,
}


def _filtered(name: str, value: object, arguments: list[object]) -> object:
    if name in ("default", "d"):
        return (arguments[0] if arguments else None) if value is _UNDEFINED else value
    if not isinstance(value, float):
        return None
    if name == "int":
        return float(int(value))
    if name == "round":
        places = arguments[0] if arguments else 0.0
        return round(value, int(places)) if isinstance(places, float) else None
    return {"float": value, "abs": abs(value)}.get(name)
