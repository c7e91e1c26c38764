"""What kind of thing a value is, and which kinds an operation takes and gives.

A number has a dimension and may be of a sort: a temperature is a point, a difference of two
is not; amperes are RMS or peak, and the amperes of a fact that says neither are of an open
basis. Amperes of a literal or of a calculation fit each. No values are handled here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeAlias

from advisor.base import Dimension, Unit, frozen, parse_unit
from advisor.data import Plain

__all__ = [
    "FLAG",
    "NUMBER",
    "TEXT",
    "Described",
    "Kind",
    "MisfitError",
    "Vocabulary",
    "added",
    "alike",
    "divided",
    "kind_of_fact",
    "kind_of_unit",
    "multiplied",
    "raised",
    "rooted",
    "subtracted",
]

_PLAIN = Dimension()
_AMPERE = parse_unit("A").dimension
_KELVIN = parse_unit("K").dimension
_OPEN = "open"  # amperes of a fact that says neither RMS nor peak


class Described(Protocol):
    """A fact of the vocabulary: its trade unit, and whether it is number, text or flag."""

    @property
    def unit(self) -> str:
        """Its trade unit."""

    @property
    def type(self) -> str:
        """``number``, ``text`` or ``flag``."""


Vocabulary = Mapping[str, "str | Described"]
"""Fact name to its unit as a text ('' for a text fact), or to something `Described`."""


class MisfitError(Exception):
    """Two kinds that an operation cannot join; the parts of the sentence about it."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(problem, remedy)
        self.problem = problem
        self.remedy = remedy


Stored: TypeAlias = Sequence[Any]
"""What `to_json` makes of a kind or of an expression: lists of JSON types."""


@frozen
class Kind:
    """A number, a text or a flag; a number has a dimension and perhaps a sort.

    The sorts are ``point`` (a temperature), ``rms``, ``peak`` and ``open`` (of a current).
    """

    type: str = "number"
    dimension: Dimension = _PLAIN
    sort: str | None = None

    @property
    def plain(self) -> bool:
        """Whether it is a number without a unit."""
        return self.type == "number" and self.dimension.is_number

    def __str__(self) -> str:
        if self.type != "number":
            return {"text": "a text", "flag": "true or false"}[self.type]
        named = _NAMED.get((self.dimension, self.sort))
        return named or (str(self.dimension) if self.plain else f"'{self.dimension}'")

    def fits(self, other: Kind) -> bool:
        """Whether a value of this kind can stand where one of `other` is due."""
        try:
            alike((self, other))
        except MisfitError:
            return False
        return True

    def to_json(self) -> list[Plain]:
        """Return the kind as JSON types."""
        return [self.type, list(self.dimension.exponents), self.sort]

    @classmethod
    def from_json(cls, data: Stored) -> Kind:
        """Return the kind of what `to_json` made."""
        kind, exponents, sort = data
        return cls(kind, Dimension(tuple(exponents)), sort)


NUMBER, TEXT, FLAG = Kind(), Kind("text"), Kind("flag")

_NAMED = {
    (_AMPERE, None): "'A'",
    (_AMPERE, "rms"): "'A rms'",
    (_AMPERE, "peak"): "'A peak'",
    (_AMPERE, _OPEN): "'A' of an open basis (neither RMS nor peak)",
    (_KELVIN, None): "'K' (a difference)",
    (_KELVIN, "point"): "'degC' (a temperature)",
}


def kind_of_unit(unit: Unit) -> Kind:
    """Return the kind of a number stated in `unit`."""
    return Kind("number", unit.dimension, unit.kind)


def kind_of_fact(fact: str | Described) -> Kind:
    """Return the kind of a fact of the vocabulary.

    Raises
    ------
    InputError
        If its unit is none.
    """
    text = fact if isinstance(fact, str) else fact.unit
    word = ("number" if text else "text") if isinstance(fact, str) else fact.type
    if word != "number":
        return Kind(word)
    kind = kind_of_unit(parse_unit(text))
    if kind.dimension == _AMPERE and kind.sort is None:
        return Kind("number", _AMPERE, _OPEN)
    return kind


def added(parts: Sequence[Kind]) -> Kind:
    """Return the kind of a sum of two."""
    left, right = parts
    sort = _term_sort(left, right, "added")
    if left.sort == right.sort == "point":
        raise MisfitError("two temperatures cannot be added", "add a difference, such as '10 K'")
    return Kind("number", left.dimension, sort)


def subtracted(parts: Sequence[Kind]) -> Kind:
    """Return the kind of a difference of two."""
    left, right = parts
    sort = _term_sort(left, right, "subtracted")
    if left.sort == right.sort == "point":
        return Kind("number", left.dimension)
    if right.sort == "point":
        problem = "a temperature cannot be subtracted from a difference"
        raise MisfitError(problem, "write the temperature first")
    return Kind("number", left.dimension, sort)


def multiplied(parts: Sequence[Kind]) -> Kind:
    """Return the kind of a product of two; a plain number leaves a current RMS or peak."""
    left, right = parts
    _no_point(left, right, "multiplied")
    sort = right.sort if left.plain else left.sort if right.plain else None
    return Kind("number", left.dimension * right.dimension, sort)


def divided(parts: Sequence[Kind]) -> Kind:
    """Return the kind of a quotient of two."""
    left, right = parts
    _no_point(left, right, "divided")
    if left.dimension == right.dimension:
        alike(parts)
    sort = left.sort if right.plain else None
    return Kind("number", left.dimension / right.dimension, sort)


def raised(base: Kind, exponent: float | None) -> Kind:
    """Return the kind of a power; `exponent` is None where it is not written as a number."""
    _no_point(base, NUMBER, "raised to a power")
    if base.plain:
        return NUMBER
    if exponent is None or exponent != int(exponent) or abs(exponent) > 6:
        problem = f"{base} can only be raised to a whole number from -6 to 6"
        raise MisfitError(problem, "write such an exponent, or divide by a unit first")
    return base if exponent == 1 else Kind("number", base.dimension ** int(exponent))


def rooted(kind: Kind) -> Kind:
    """Return the kind of a square root."""
    _no_point(kind, NUMBER, "put under a root")
    halves = [divmod(power, 2) for power in kind.dimension.exponents]
    if any(rest for _, rest in halves):
        raise MisfitError(f"{kind} has no square root", "bring the unit to a square first")
    return Kind("number", Dimension(tuple(half for half, _ in halves)))


def alike(kinds: Sequence[Kind]) -> Kind:
    """Return the common kind of values that are compared or chosen from."""
    common = kinds[0]
    for kind in kinds[1:]:
        if kind.type != common.type or kind.dimension != common.dimension:
            raise MisfitError(f"{common} and {kind} do not fit together", "bring both to one unit")
        common = Kind(common.type, common.dimension, _one_sort(common, kind))
    return common


def _number(kind: Kind) -> Kind:
    if kind.type != "number":
        raise MisfitError(f"{kind} is no number", "reckon with numbers only")
    return kind


def _term_sort(left: Kind, right: Kind, word: str) -> str | None:
    """Return the sort of a sum's terms; ``point`` where one of them is a temperature."""
    if _number(left).dimension != _number(right).dimension:
        problem = f"{left} and {right} cannot be {word}"
        raise MisfitError(problem, "bring both to one unit")
    if "point" in (left.sort, right.sort):
        return "point"
    return _one_sort(left, right)


def _no_point(left: Kind, right: Kind, word: str) -> None:
    if "point" in (_number(left).sort, _number(right).sort):
        remedy = "take a difference first, such as 'x - 0 degC'"
        raise MisfitError(f"a temperature cannot be {word}", remedy)


def _one_sort(left: Kind, right: Kind) -> str | None:
    if left.sort == right.sort:
        return left.sort
    if "point" in (left.sort, right.sort):
        remedy = "write a temperature as '60 degC' and a difference as '10 K'"
        raise MisfitError(f"{left} and {right} do not fit together", remedy)
    if left.sort is None or right.sort is None:
        return left.sort or right.sort
    raise MisfitError(f"{left} and {right} do not fit together", "bring both to one basis")
