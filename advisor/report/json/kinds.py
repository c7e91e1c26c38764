"""The kinds of value in a JSON answer: each makes the JSON of a value and its own JSON Schema.

The order of keys and entries is fixed, numbers are finite, and nothing depends on the clock or on
the order of a set: the same input gives the same bytes. Unknown values are null.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from advisor.base import frozen, parse_unit
from advisor.report.clean import unicode_text

__all__ = [
    "COUNT",
    "FLAG",
    "LINE",
    "NUMBER",
    "SHARE",
    "TEXT",
    "WORDS",
    "ChoiceKind",
    "Estimate",
    "Field",
    "FieldKind",
    "Integer",
    "Maybe",
    "NumberKind",
    "Quantity",
    "Record",
    "Schema",
    "Several",
    "Table",
    "TextKind",
    "Tree",
    "ends",
    "number",
    "unit",
    "unit_symbol",
    "within",
]

_DIGITS = 9  # significant; enough for any setting, short of the last bits of the arithmetic
Held: TypeAlias = Any
"""A value that a record holds: what it is, the kind of its field says."""

Tree: TypeAlias = dict[str, Any]
"""An object as JSON types."""

Schema: TypeAlias = dict[str, Any]
"""A JSON Schema, or a part of one."""


def number(value: float | None) -> float | None:
    """Return a finite number of nine digits; null for what is none."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{_DIGITS}g}")


def unit_symbol(symbol: str) -> str | None:
    """Return the unit without its kind (``A`` for RMS amperes); null for text and plain numbers."""
    unit = parse_unit(symbol)
    if unit.kind in {"rms", "peak"}:
        return symbol.partition(" ")[0]
    return unit.symbol or None


class FieldKind(ABC):
    """What a value is; `about` and `name` are of records alone."""

    @abstractmethod
    def tree(self, value: Held) -> Held:
        """Return a value as JSON types."""

    @abstractmethod
    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the JSON Schema; what has a name of its own goes into `named`."""


@frozen
class TextKind(FieldKind):
    """A text; a byte that was none is written as an escape."""

    least: int = 0
    pattern: str | None = None

    def tree(self, value: str) -> str:
        """Return the text."""
        return unicode_text(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of a text."""
        more = {"minLength": self.least or None, "pattern": self.pattern}
        return {"type": "string", **_stated(more)}


@frozen
class ChoiceKind(FieldKind):
    """One of a few words."""

    words: tuple[str, ...]

    def tree(self, value: str) -> str:
        """Return the word."""
        return str(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of the words."""
        return {"enum": list(self.words)}


@frozen
class FlagKind(FieldKind):
    """Yes or no."""

    def tree(self, value: bool) -> bool:
        """Return it."""
        return bool(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of a flag."""
        return {"type": "boolean"}


@frozen
class Integer(FieldKind):
    """A whole number."""

    low: int | None = None
    high: int | None = None

    def tree(self, value: int) -> int:
        """Return it."""
        return int(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of a whole number."""
        return {"type": "integer", **_stated({"minimum": self.low, "maximum": self.high})}


@frozen
class NumberKind(FieldKind):
    """A number of nine digits, null where it is beyond all bounds."""

    low: float | None = None
    high: float | None = None
    above: float | None = None

    def tree(self, value: float) -> float | None:
        """Return it."""
        return number(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of a number."""
        bounds = {"minimum": self.low, "maximum": self.high, "exclusiveMinimum": self.above}
        return {"type": "number", **_stated(bounds)}


@frozen
class Constant(FieldKind):
    """Always the same; `value` of a record is not looked at."""

    value: Held

    def tree(self, value: Held) -> Held:
        """Return it."""
        return self.value

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of one value."""
        return {"const": self.value}


@frozen
class Maybe(FieldKind):
    """A value of a kind, or null."""

    kind: FieldKind

    def tree(self, value: Held) -> Held:
        """Return it, or null."""
        return None if value is None else self.kind.tree(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of the kind with null beside it."""
        plain = self.kind.schema(named)
        if "enum" in plain:
            return {**plain, "enum": [*plain["enum"], None]}
        if isinstance(plain.get("type"), str) and plain["type"] not in {"object", "array"}:
            return {**plain, "type": [plain["type"], "null"]}
        return {"anyOf": [plain, {"type": "null"}]}


@frozen
class Several(FieldKind):
    """A list of values of a kind."""

    kind: FieldKind
    least: int = 0
    most: int | None = None

    def tree(self, value: Iterable[Held]) -> list[Held]:
        """Return each."""
        return [self.kind.tree(one) for one in value]

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of the list."""
        size = {"minItems": self.least or None, "maxItems": self.most}
        return {"type": "array", **_stated(size), "items": self.kind.schema(named)}


@frozen
class Table(FieldKind):
    """Values of a kind by name."""

    kind: FieldKind
    ordered: bool = True  # by name; else as they come

    def tree(self, value: Mapping[str, Held]) -> Tree:
        """Return each under its name."""
        names = sorted(value) if self.ordered else list(value)
        return {name: self.kind.tree(value[name]) for name in names}

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of the mapping."""
        return {"type": "object", "additionalProperties": self.kind.schema(named)}


@frozen
class Field:
    """One key of a record: its name, its kind, where it is got, what it is."""

    name: str
    kind: FieldKind
    get: str | Callable[[Held], Held] | None = None  # dotted attributes; None: the name
    about: str = ""
    optional: bool = False  # left out where there is nothing

    def of(self, record: Held) -> Held:
        """Return its value in a record; None behind an attribute that is None."""
        if callable(self.get):
            return self.get(record)
        for part in (self.get or self.name).split("."):
            if record is None:
                return None
            record = getattr(record, part)
        return record


@frozen
class Record(FieldKind):
    """An object with just these keys, in this order."""

    fields: Sequence[Field]
    name: str = ""  # under which the schema has it; '' where it stands in the place itself
    about: str = ""

    def tree(self, value: Held) -> Tree:
        """Return the keys of a record."""
        pairs = ((field, field.of(value)) for field in self.fields)
        return {
            field.name: field.kind.tree(one)
            for field, one in pairs
            if not (field.optional and not one)
        }

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of the object, or where it stands."""
        if not self.name:
            return self._whole(named)
        if self.name not in named:
            named[self.name] = {}  # its place, before what it is made of
            named[self.name].update(self._whole(named))
        return {"$ref": f"#/$defs/{self.name}"}

    def _whole(self, named: dict[str, Schema]) -> Schema:
        made = {
            "type": "object",
            "additionalProperties": False,
            "required": [field.name for field in self.fields if not field.optional],
            "properties": dict(self._properties(named)),
        }
        return {**made, "description": self.about} if self.about else made

    def _properties(self, named: dict[str, Schema]) -> Iterator[tuple[str, Schema]]:
        for field in self.fields:
            made = field.kind.schema(named)
            yield field.name, {**made, "description": field.about} if field.about else made


def within(part: str, fields: Iterable[Field]) -> tuple[Field, ...]:
    """Return the fields of a part of a record as the record's own."""

    def got(field: Field) -> Callable[[Held], Held]:
        return lambda whole: field.of(getattr(whole, part))

    return tuple(
        Field(field.name, field.kind, got(field), field.about, field.optional) for field in fields
    )


def _stated(words: Mapping[str, Held]) -> Schema:
    return {name: value for name, value in words.items() if value is not None}


FLAG, NUMBER, TEXT, WORDS = FlagKind(), NumberKind(), TextKind(), TextKind(least=1)
COUNT, LINE, SHARE = Integer(low=0), Integer(low=1), NumberKind(low=0, high=1)


def ends() -> tuple[Field, ...]:
    """Return the fields of a band: its value and its ends."""
    return tuple(Field(name, Maybe(NUMBER)) for name in ("value", "low", "high"))


def unit(symbol: str | None) -> Field:
    """Return the field of a unit that is always the same."""
    return Field("unit", Constant(symbol), lambda record: symbol)


def Estimate(symbol: str | None) -> Record:  # noqa: N802  # reads as a kind in the tables
    """Return the kind of an estimate in a unit; None for a plain number."""
    return Record(
        (*ends(), unit(symbol)),
        name="estimate" if symbol is None else f"estimate_{_PLAIN.get(symbol, symbol)}",
        about="Typical value, 5th and 95th percentile of the ensemble; null beyond all bounds.",
    )


_PLAIN = {"mm3/s": "flow", "mm/s": "speed", "1/s": "rate", "mN m": "torque"}


def Quantity(symbol: str) -> Record:  # noqa: N802
    """Return the kind of a number without a spread, beside its unit."""
    return Record((Field("value", NUMBER, lambda value: value), unit(symbol)))
