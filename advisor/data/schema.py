"""The one reader of our own data files: what a file must hold is said as a schema.

A schema is made of kinds. A kind takes one value of the tree (`Node`) and returns it as plain JSON
types, or raises a `DataError` with place, thing, problem and remedy; a word that is nearly a known
one is named. Kinds of single values: `text`, `string`, `flag`, `number`, `whole`, `word`, `unit`,
`quantity`, `ends`, `pattern`, `raw`; of several: `row` (known keys), `names` (any keys), `listed`,
`either`; `checked` adds a check of one's own, `sourced` the two keys that say where a number is
from. The schema of a file stands with the module that knows its meaning.

It reads files that come with the package, and stops at the first mistake; what a user writes is
read elsewhere.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias, TypeGuard, TypeVar, cast

from advisor.base import DataError, InputError, near_miss, parse_unit
from advisor.data.resources import Plain, Row, read_text
from advisor.data.values import parse_quantity
from advisor.data.yamlread import Path, Placed, below, read_yaml

__all__ = [
    "STATUSES", "Kind", "Node", "checked", "either", "ends", "flag", "listed", "names",
    "number", "pattern", "quantity", "raw", "read_data", "read_node", "row", "sourced", "string",
    "text", "typed", "unit", "whole", "word",
]  # fmt: skip

STATUSES = ("found", "memory", "common-practice", "derived")


@dataclass(frozen=True, slots=True)
class Node:
    """One value of a data file, and the way to it."""

    data: Plain
    placed: Placed
    path: Path = ()

    def into(self, *steps: str | int) -> Node:
        """Return the value further down."""
        data = self.data
        for step in steps:
            data = below(data, step)
        return Node(data, self.placed, (*self.path, *steps))

    @property
    def thing(self) -> str:
        """What a sentence calls this value: the names that lead to it.

        An entry of a list goes by the text it begins with, which is its name.
        """
        words = [str(step + 1) if isinstance(step, int) else step for step in self.path]
        if self.path and isinstance(self.path[0], int):
            entry = below(self.placed.data, self.path[0])
            first = next(iter(entry.values()), None) if isinstance(entry, dict) else None
            words[:1] = [first] if isinstance(first, str) else []
        return f"'{' '.join(words)}'" if words else "the entry" if self.path else "this file"

    def wrong(self, problem: str, remedy: str | None = None, *, key: bool = False) -> DataError:
        """Return the error that says what is wrong with this value, or with its `key`."""
        at = self.placed.key_at(*self.path) if key else self.placed.at(*self.path)
        return DataError(f"{self.thing} {problem}", remedy or None, at)


T = TypeVar("T")
U = TypeVar("U")

Kind: TypeAlias = Callable[[Node], T]


def typed(like: type[T], kind: Kind[Row]) -> Kind[T]:
    """Say by a `TypedDict` what a row holds: the keys that its kind reads."""
    return cast("Kind[T]", kind)


def read_node(text_: str, file: str) -> Node:
    """Return the tree of a data file's text.

    Raises
    ------
    DataError
        If it is no YAML.
    """
    try:
        placed = read_yaml(text_, file)
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None
    return Node(placed.data, placed)


def read_data(name: str, kind: Kind[T]) -> T:
    """Return a file under rules/, read by its schema.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    return kind(read_node(read_text("rules", name), f"rules/{name}"))


def text(node: Node) -> str:
    """Read a text that says something."""
    if not isinstance(node.data, str) or not node.data.strip():
        raise node.wrong("must be a text", "write one")
    return node.data


def string(node: Node) -> str:
    """Read a text that may be empty."""
    if not isinstance(node.data, str):
        raise node.wrong("must be a text", "write it in quotes")
    return node.data


def raw(node: Node) -> Plain:
    """Take anything as it is: what it must be hangs on its neighbours, and is checked with them."""
    return node.data


def flag(node: Node) -> bool:
    """Read true or false."""
    if not isinstance(node.data, bool):
        raise node.wrong(f"is '{node.data}', no flag", "write true or false")
    return node.data


def number(
    *, above: float = -math.inf, at_least: float = -math.inf, at_most: float = math.inf
) -> Kind[float]:
    """Read a finite number within bounds."""

    def read(node: Node) -> float:
        value = node.data
        if not _is_number(value):
            raise node.wrong(f"is '{value}', no number", "write a number")
        if not math.isfinite(value):
            raise node.wrong(f"is '{value}', not finite", "write a number")
        if not (above < value and at_least <= value <= at_most):
            low = f"above {above:g}" if above > -math.inf else f"from {at_least:g}"
            high = "" if at_most == math.inf else f" to {at_most:g}"
            raise node.wrong(f"is {value:g}", f"write a number {low}{high}")
        return float(value)

    return read


def _is_number(value: Plain) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def whole(node: Node) -> int:
    """Read a whole number."""
    if type(node.data) is not int:
        raise node.wrong(f"is '{node.data}', no whole number", "write one")
    return int(node.data)


def word(choices: Iterable[str], what: str = "", remedy: str = "") -> Kind[str]:
    """Read one of some words; `what` they are, and what to do where none is near."""
    known = tuple(choices)

    def read(node: Node) -> str:
        value = node.data
        if not isinstance(value, str) or value not in known:
            hint = near_miss(str(value), known) or remedy or f"write one of {', '.join(known)}"
            raise node.wrong(f"is '{value}'{f', no {what}' if what else ''}", hint)
        return value

    return read


def sourced(sources: Collection[str]) -> dict[str, Kind[str]]:
    """Return the keys that say where a number is from, for a `row`."""
    return {
        "source": word(sources, "source", "add it to rules/sources.yaml"),
        "status": word(STATUSES),
    }


def pattern(groups: int | None = None) -> Kind[str]:
    """Read a regular expression, with so many groups."""

    def read(node: Node) -> str:
        try:
            found = re.compile(text(node)).groups
        except re.error as err:
            raise node.wrong(f"is no expression: {err}", "mend it") from None
        if groups is not None and found != groups:
            raise node.wrong(f"has {found} groups", f"write exactly {groups}")
        return str(node.data)

    return read


def unit(like: str | None = None, what: str = "it") -> Kind[str]:
    """Read a unit, of the dimension and kind of another where one is given."""

    def read(node: Node) -> str:
        try:
            found, due = parse_unit(str(node.data)), like if like is None else parse_unit(like)
        except InputError as err:
            raise node.wrong(f"cannot be: {err.problem}", err.remedy) from None
        if due is not None and (found.dimension, found.kind) != (due.dimension, due.kind):
            raise node.wrong(f"is in '{node.data}', {what} in '{like}'", "change the unit")
        return str(node.data)

    return read


def quantity(due: str, *, si: bool = True) -> Kind[float]:
    """Read a number with its unit, in SI; or in the unit itself: a step of degC is one of K."""

    def read(node: Node) -> float:
        wanted = parse_unit(due)
        try:
            value = float(parse_quantity(str(node.data), wanted).typical)
        except InputError as err:
            raise node.wrong(f"cannot be: {err.problem}", err.remedy) from None
        return value if si else round(float(wanted.from_si(value)), 12)

    return read


def ends(above: float = -math.inf) -> Kind[list[float]]:
    """Read the two ends of a range, the lower first."""

    def read(node: Node) -> list[float]:
        given = node.data if isinstance(node.data, list) else []
        found = [float(end) for end in given if _is_number(end)]
        if len(given) != 2 or len(found) != 2 or not above < found[0] < found[1]:
            more = f", above {above:g}" if above > -math.inf else ""
            raise node.wrong("is no range", f"write '[lowest, highest]'{more}")
        return found

    return read


def row(
    need: Mapping[str, Kind[object]],
    may: Mapping[str, Kind[object]] | None = None,
    *,
    one: Collection[str] = (),
    remedy: str = "",
) -> Kind[Row]:
    """Read a mapping of known keys: those it needs, those it may have, and just one of `one`.

    `remedy` is for an unknown key that is near no known one.
    """
    kinds = {**need, **(may or {})}

    def read(node: Node) -> Row:
        given = _mapping(node)
        for key in given:
            if key not in kinds:
                hint = near_miss(key, kinds) or remedy or f"known are {', '.join(kinds)}"
                at = node.placed.key_at(*node.path, key)
                raise DataError(f"{node.thing} has an unknown key '{key}'", hint, at)
        for key in need:
            if given.get(key) is None:
                raise node.wrong(f"has no {key}", f"add '{key}:'", key=True)
        if one and sum(key in given for key in one) != 1:
            raise node.wrong(f"needs one of {', '.join(one)}", "give just one of them")
        return {
            key: kinds[key](node.into(key)) for key, value in given.items() if value is not None
        }

    return read


def names(
    kind: Kind[T], known: Collection[str] | None = None, what: str = "", remedy: str = ""
) -> Kind[dict[str, T]]:
    """Read a mapping of any names, or of `known` ones, to values of one kind."""

    def read(node: Node) -> dict[str, T]:
        given = _mapping(node)
        for name in given:
            if known is not None and name not in known:
                hint = near_miss(name, known) or remedy or f"known are {', '.join(known)}"
                raise node.into(name).wrong(f"is no {what or 'known name'}", hint, key=True)
        return {name: kind(node.into(name)) for name in given}

    return read


def _mapping(node: Node) -> dict[str, Plain]:
    """Take a mapping as it is."""
    if not isinstance(node.data, dict):
        raise node.wrong("must be a mapping", "write 'name: ...' lines or '{...}'")
    return node.data


def listed(kind: Kind[T], *, least: int = 0, first: str = "", what: str = "") -> Kind[list[T]]:
    """Read a list of values of one kind; `first` is the key each begins with, `what` they are."""

    def read(node: Node) -> list[T]:
        if not isinstance(node.data, list):
            remedy = f"write '- {first}: ...'" if first else "write '[one, two]'"
            raise node.wrong(f"must be a list{f' of {what}' if what else ''}", remedy)
        if len(node.data) < least:
            raise node.wrong("has too few entries" if node.data else "has no entry", "add one")
        return [kind(node.into(place)) for place in range(len(node.data))]

    return read


def either(*kinds: tuple[type | tuple[type, ...], Kind[T]]) -> Kind[T]:
    """Read by the first kind whose Python type the value has; the last stands for any other."""

    def read(node: Node) -> T:
        for one, kind in kinds:
            if isinstance(node.data, one):
                return kind(node)
        return kinds[-1][1](node)

    return read


def checked(kind: Kind[T], check: Callable[[Node, T], U]) -> Kind[U]:
    """Read by a kind, then hand the value to a check, which may change it or raise."""
    return lambda node: check(node, kind(node))
