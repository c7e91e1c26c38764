"""Says a condition, a message with its places to fill in, and a formula in words.

The names of facts become their titles; what has no title (a field of an event) becomes its name
with blanks. It evaluates nothing.

A formula is written with its numbers put in, too. Its words may name facts in braces,
``{drive.rotation_distance} / {drive.gear_ratio}``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, TypeAlias

from advisor.base import Fact
from advisor.catalog import FactInfo
from advisor.expression import syntax_tree

if TYPE_CHECKING:
    from lark import Token, Tree

__all__ = [
    "condition_parts",
    "condition_words",
    "in_numbers",
    "in_words",
    "template_words",
    "title",
]

_NAME = re.compile(r"\{([a-z0-9_.]+)\}")
_PLACE = re.compile(r"\{([^{}|:]+)([^{}]*)\}")
_DOTS = re.compile(r"\.{4}")
_COMPARED = {
    "<": "is below", "<=": "is at most", ">": "is above", ">=": "is at least", "==": "is",
    "!=": "is not",
}  # fmt: skip
_NOT = {"<": "is at least", "<=": "is above", ">": "is at most", ">=": "is below", "==": "is not",
        "!=": "is"}  # fmt: skip
_STATES = {
    "stated": ("is stated", "is not stated"),
    "known": ("is known", "is not known"),
    "missing": ("is not given", "is given"),
    "assumed": ("is assumed", "is not assumed"),
    "defaulted": ("is left to the firmware", "is not left to the firmware"),
}
_CALLS = {"min": "the lowest of {}", "max": "the highest of {}", "low": "the low end of {}",
          "high": "the high end of {}", "abs": "the size of {}",
          "sqrt": "the root of {}"}  # fmt: skip
_SIGNS = {"+": "plus", "-": "less", "*": "times", "/": "divided by"}
_NO_ARTICLE = frozenset(
    {"the", "what", "driven", "parallel", "limits", "microsteps", "rotor", "phases", "full"}
)


def in_words(formula: str, infos: Mapping[str, FactInfo]) -> str:
    """Return the formula with the titles of its facts."""
    return _NAME.sub(lambda m: infos[m[1]].title if m[1] in infos else m[1], formula)


def in_numbers(formula: str, facts: Mapping[str, Fact]) -> str | None:
    """Return the formula with the nominal values of its facts, or None if none is known."""
    if not any(name in facts and facts[name].known for name in _NAME.findall(formula)):
        return None
    return _NAME.sub(lambda m: _value(facts.get(m[1])), formula)


def _value(fact: Fact | None) -> str:
    if fact is None or not fact.known:
        return "not known"
    number = fact.number
    if number is None:
        return str(fact.word)
    value = number.in_trade()
    unit = "" if number.unit in ("-", "") else f" {number.unit.removesuffix(' rms')}"
    return f"{value:.4g}{unit}"


_Part: TypeAlias = "Tree[Token] | Token"


def condition_words(text: str, infos: Mapping[str, FactInfo]) -> str:
    """Return a condition in words.

    Parameters
    ----------
    text : str
        A condition of a rule.
    infos : mapping of str to FactInfo
        The vocabulary.
    """
    return _Teller(infos).told(syntax_tree(text))


def condition_parts(text: str, infos: Mapping[str, FactInfo]) -> list[str]:
    """Return the parts of a condition in words that must all be so."""
    tree = syntax_tree(text)
    parts = _inside(tree) if _name(tree) == "all_of" else [tree]
    return [_Teller(infos).told(part) for part in parts]


def template_words(text: str, infos: Mapping[str, FactInfo]) -> str:
    """Return a message as it reads, with dots and the unit where a figure of the machine stands.

    >>> template_words("It is {a_count}.", {})
    'It is ...'
    """

    def said(place: re.Match[str]) -> str:
        what, how = place[1].strip(), place[2]
        info = infos.get(what)
        if how == ":setting":
            return title(what, infos)
        unit = how.partition("|")[2].partition(":")[0].strip() if "|" in how else ""
        if info is not None and info.unit != "-" and how in ("", ":value") and not unit:
            unit = info.unit
        return f"... {unit}".rstrip()

    return _DOTS.sub("...", _PLACE.sub(said, text))


def title(name: str, infos: Mapping[str, FactInfo]) -> str:
    """Return what a fact is called; a name that is no fact's with blanks."""
    info = infos.get(name)
    return info.title if info is not None else name.replace(".", " ").replace("_", " ")


class _Teller:
    """Turns a syntax tree into words."""

    def __init__(self, infos: Mapping[str, FactInfo]) -> None:
        self.infos = infos
        self.rows: dict[str, Callable[[Sequence[_Part]], str]] = {
            "any_of": self._any,
            "all_of": lambda parts: ", and ".join(map(self.told, parts)),
            "negate": lambda parts: self._negated(parts[-1]),
            "compare": self._compared,
            "one_of": lambda parts: f"{self.told(parts[0])} is {_choices(parts[1:])}",
            "none_of": lambda parts: f"{self.told(parts[0])} is not {_choices(parts[1:])}",
            "add": self._joined,
            "multiply": self._joined,
            "sign": lambda parts: f"{parts[0]}{self.told(parts[1])}",
            "raise_to": lambda p: f"{self.told(p[0])} to the power {self.told(p[1])}",
            "call": self._called,
            "group": self._grouped,
            "name": lambda parts: _the(title(str(parts[0]), self.infos)),
        }

    def told(self, tree: _Part) -> str:
        """Return a part of the tree in words."""
        tell = self.rows.get(_name(tree))
        if tell is not None:
            return tell(_inside(tree))
        return str((*_inside(tree), tree)[0]).strip("\"'")

    def _grouped(self, parts: Sequence[_Part]) -> str:
        inner = self.told(parts[1])
        return f"({inner})" if _name(parts[1]) in {"add", "multiply"} else inner

    def _any(self, parts: Sequence[_Part]) -> str:
        return self._one_of_values(parts, "is") or f"either {' or '.join(map(self.told, parts))}"

    def _one_of_values(self, parts: Sequence[_Part], verb: str) -> str | None:
        """Say ``a == 1 or a == 2 or a == 4`` once; None where it is something else."""
        equal = [x for x in parts if _name(x) == "compare" and str(_inside(x)[1]) == "=="]
        lefts = {self.told(_inside(x)[0]) for x in equal}
        if len(equal) < len(parts) or len(lefts) > 1:
            return None
        *first, last = [self.told(_inside(x)[2]) for x in equal]
        return f"{lefts.pop()} {verb} {', '.join(first)} or {last}"

    def _negated(self, tree: _Part) -> str:
        while _name(tree) == "group":
            tree = _inside(tree)[1]
        if _name(tree) == "any_of":
            single = self._one_of_values(_inside(tree), "is not")
            return single or ", and ".join(map(self._negated, _inside(tree)))
        if _name(tree) == "all_of":
            return f"either {' or '.join(map(self._negated, _inside(tree)))}"
        if _name(tree) == "call" and str(_inside(tree)[0]) in _STATES:
            return self._state(_inside(tree), fails=1)
        if _name(tree) == "compare" and len(_inside(tree)) == 3:
            left, sign, right = _inside(tree)
            return f"{self.told(left)} {_NOT[str(sign)]} {self.told(right)}"
        if _name(tree) == "compare":
            low, _, middle, _, high = _inside(tree)
            return f"{self.told(middle)} is not between {self.told(low)} and {self.told(high)}"
        return f"it is not so that ({self.told(tree)})"

    def _compared(self, parts: Sequence[_Part]) -> str:
        if len(parts) > 3:
            low, _, middle, _, high = parts
            return f"{self.told(middle)} is between {self.told(low)} and {self.told(high)}"
        left, sign, right = parts
        apart = self._apart(left, str(sign), right)
        return apart or f"{self.told(left)} {_COMPARED[str(sign)]} {self.told(right)}"

    def _apart(self, left: _Part, sign: str, right: _Part) -> str | None:
        """Say ``abs(a / b - 1) > c`` and ``abs(a - b) > c`` as a difference."""
        if _name(left) != "call" or str(_inside(left)[0]) != "abs":
            return None
        inner = _inside(left)[2]
        if _name(inner) != "add" or [str(x) for x in _inside(inner)[1:-1]] != ["-"]:
            return None
        first, _, second = _inside(inner)
        if _name(second) == "quantity" and _name(first) == "multiply" and len(_inside(first)) == 3:
            first, _, second = _inside(first)
        more = "more than" if sign.startswith(">") else "at most"
        return f"{self.told(first)} differs from {self.told(second)} by {more} {self.told(right)}"

    def _joined(self, parts: Sequence[_Part]) -> str:
        return " ".join(
            _SIGNS[str(part)] if i % 2 else self.told(part) for i, part in enumerate(parts)
        )

    def _called(self, parts: Sequence[_Part]) -> str:
        name = str(parts[0])
        if name in _STATES:
            return self._state(parts, fails=0)
        listed = [self.told(part) for part in parts[2:-1]]
        if name == "nominal":
            return f"the typical {listed[0].removeprefix('the ')}"
        told = " and ".join(x for x in (", ".join(listed[:-1]), listed[-1]) if x)
        return _CALLS.get(name, f"{name} of {{}}").format(told)

    def _state(self, parts: Sequence[_Part], *, fails: int) -> str:
        return f"{self.told(parts[2])} {_STATES[str(parts[0])][fails]}"


def _the(name: str) -> str:
    return name if name.partition(" ")[0] in _NO_ARTICLE else f"the {name}"


def _choices(parts: Sequence[_Part]) -> str:
    texts = [str(part).strip("\"'") for part in parts if getattr(part, "type", "") == "TEXT"]
    return " or ".join(texts)


def _name(part: _Part) -> str:
    """Return the name of a part that is a tree; nothing of a token."""
    return "" if isinstance(part, str) else str(part.data)


def _inside(part: _Part) -> Sequence[_Part]:
    return () if isinstance(part, str) else part.children
