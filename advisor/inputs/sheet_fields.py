"""The fields of the hardware sheet: which fact each states and what it may hold.

The fields are data (rules/facts.yaml and rules/dialects/sheet.yaml). A value is read here; the
sheet as a whole is read by `sheet`.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping
from typing import NamedTuple

from advisor.base import InputError, Span, Unit, frozen, near_miss, parse_unit
from advisor.catalog import Catalog
from advisor.data import (
    Plain,
    Quantity,
    Row,
    artifact,
    parse_integer,
    parse_number,
    parse_quantity,
    parse_ratio,
)
from advisor.inputs.dialect import build

__all__ = ["Fields", "SheetField", "SheetValue", "load_fields", "read_value"]

Bound = tuple[float, str]  # SI value, as it is written


class SheetValue(NamedTuple):
    """A value of the sheet in SI units; all three are equal where no band was given."""

    low: float
    typical: float
    high: float

    @property
    def exact(self) -> bool:
        """Whether it is no band."""
        return self.low == self.high


@frozen
class SheetField:
    """One field: its path, the fact it states, what it may hold."""

    path: str
    fact: str
    unit: str
    type: str
    scope: str
    above: Bound | None = None
    at_least: Bound | None = None
    at_most: Bound | None = None
    choices: tuple[str, ...] = ()
    catalogue: str | None = None
    count: bool = False
    ratio: bool = False
    basis: str | None = None
    within: str | None = None
    bare: bool = False  # a number without a unit is taken in the field's own

    def lacks_unit(self, text: str) -> bool:
        """Whether a text is a number without a unit that is taken in the field's own."""
        return self.bare and parse_number(text) is not None


@frozen
class Fields:
    """All fields by path; blocks with the fields they need; what a field renews.

    ``questions`` holds what may be asked, fields and blocks, with a line how to find it out;
    ``lists`` the blocks of which there may be several.
    """

    fields: Mapping[str, SheetField]
    blocks: Mapping[str, tuple[str, ...]]
    renews: Mapping[str, tuple[str, ...]]
    questions: Mapping[str, str] = dataclasses.field(default_factory=dict)
    lists: frozenset[str] = frozenset()

    def children(self, group: str) -> tuple[str, ...]:
        """Return the names that may stand under `group` (empty: at the top)."""
        start = f"{group}." if group else ""
        names = (path[len(start) :].partition(".")[0] for path in self.fields
                 if path.startswith(start))  # fmt: skip
        return tuple(dict.fromkeys(names))


@functools.cache
def load_fields() -> Fields:
    """Return the fields of the sheet; they are read once."""
    data = artifact("dialects", build)["sheet"]
    bare = frozenset(data["bare"])
    return Fields(
        fields={path: _field(path, row, bare) for path, row in data["fields"].items()},
        blocks={block: tuple(needs) for block, needs in data["blocks"].items()},
        renews={name: tuple(fields) for name, fields in data["renews"].items()},
        questions=dict(data["questions"]),
        lists=frozenset(data["lists"]),
    )


def _field(path: str, row: Row, bare: frozenset[str]) -> SheetField:
    given = {**row, "bare": row["unit"] in bare}
    for bound in ("above", "at_least", "at_most"):
        if bound in given:
            given[bound] = tuple(given[bound])
    return SheetField(path, **given | {"choices": tuple(given.get("choices", ()))})


def read_value(
    field: SheetField, value: Plain, *, at: Span, catalog: Catalog
) -> tuple[SheetValue | str, str | None]:
    """Return the value of a field, and the kind of its unit (``rms``, ``peak``) if it has one.

    Parameters
    ----------
    field : SheetField
        The field.
    value : str, int, float or bool
        What YAML makes of the user's text.
    at : Span
        The place an error names.
    catalog : Catalog
        Where class names are looked up.

    Returns
    -------
    str or SheetValue
        A text, or a number in SI units, [any].

    Raises
    ------
    InputError
        If the field cannot hold this.
    """
    try:
        if isinstance(value, bool):
            raise InputError(f"'{str(value).lower()}' is no value", _example(field))
        read = _number if field.type == "number" else _text
        return read(field, value, catalog)
    except InputError as err:
        raise InputError(f"{field.path}: {err.problem}", err.remedy, at) from None


def _text(field: SheetField, value: Plain, catalog: Catalog) -> tuple[str, None]:
    text = str(value).strip().lower()
    if field.catalogue is not None:
        return catalog.lookup(field.catalogue, str(value)).name, None
    if field.choices and text not in field.choices:
        hint = near_miss(text, field.choices) or _example(field)
        raise InputError(f"'{value}' is not known here", hint)
    return text, None


def _number(field: SheetField, value: Plain, catalog: Catalog) -> tuple[SheetValue, str | None]:
    text = str(value).strip()
    kind: str | None = None
    if field.count:
        number, unit = _count(text, field), parse_unit("")
    elif field.ratio and (ratio := parse_ratio(text)) is not None:
        number, unit = SheetValue(*[ratio.product] * 3), parse_unit("")
    else:
        quantity = _quantity(text, field)
        number, unit = SheetValue(quantity.low, quantity.typical, quantity.high), quantity.unit
        kind = unit.kind if field.basis else None
    _check_bounds(field, number, text)
    return number, kind


_LARGEST = 64  # bits; no count of parts or steps needs more


def _count(text: str, field: SheetField) -> SheetValue:
    count = parse_integer(text)
    if count is None:
        raise InputError(f"'{text[:40]}' is no whole number", _example(field))
    if count.bit_length() > _LARGEST:
        raise InputError(f"'{text[:40]}...' is no number of anything", _example(field))
    return SheetValue(*[float(count)] * 3)


def _quantity(text: str, field: SheetField) -> Quantity:
    """Read a quantity; 'A' alone will do for 'A rms', and either where the basis is a field."""
    due = parse_unit(field.unit)
    if field.lacks_unit(text):
        text = f"{text} {field.unit.removesuffix(' rms')}"
    for unit in _accepted(due, field):
        try:
            return parse_quantity(text, unit)
        except InputError:
            continue
    return parse_quantity(text, due)


def _accepted(due: Unit, field: SheetField) -> list[Unit]:
    others = ["A rms", "A peak"] if field.basis else ["A"] if due.kind == "rms" else []
    return [parse_unit(symbol) for symbol in others]


_CHECKS: Mapping[str, tuple[str, Callable[[SheetValue, float], bool]]] = {
    "above": ("must be above", lambda value, bound: value.low > bound),
    "at_least": ("must be at least", lambda value, bound: value.low >= bound),
    "at_most": ("must be at most", lambda value, bound: value.high <= bound),
}


def _check_bounds(field: SheetField, value: SheetValue, text: str) -> None:
    for name, (words, holds) in _CHECKS.items():
        bound: Bound | None = getattr(field, name)
        if bound is not None and not holds(value, bound[0]):
            raise InputError(f"'{text[:40]}' cannot be: it {words} {bound[1]}", "check the value")


def _example(field: SheetField) -> str:
    if field.choices:
        return f"write one of {', '.join(field.choices)}"
    if field.count:
        return "write a whole number such as 2"
    unit = f" {field.unit}" if field.unit not in ("", "-") else ""
    return f"write a number such as '1{unit}'" if field.type == "number" else "write a word"
