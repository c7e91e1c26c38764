"""Reads what is to be varied: a field of the sheet or a fact, and the values it is to take."""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Iterable, Mapping

from advisor.base import (
    InputError,
    Span,
    Text,
    UsageError,
    Value,
    frozen,
    near_miss,
    parse_unit,
    value_of,
)
from advisor.catalog import Catalog
from advisor.data import Quantity, parse_quantity, parse_ratio
from advisor.inputs import Bound, Key, SheetField, load_dialect, load_fields, read_value

__all__ = ["DERATED", "Variation", "combinations", "known_names", "read_variation"]

DERATED = "derated"  # as a run current: the largest setting that is not above the derated current
RUN_CURRENT = "motor.run_current"
_MOST_VALUES = 50
_MOST_VARIANTS = 200
_RANGE = re.compile(r"(.+?)\.\.(.+):\s*(\d{1,6})\s*\Z", re.DOTALL)
_NOT_VARIED = ("asked",)  # what is asked changes no machine


@frozen
class Variation:
    """One thing set to one value: a number or a text."""

    field: SheetField
    text: str
    value: Value
    kind: str | None = None  # rms or peak, where the unit of a rated current says so
    stages: int | None = None  # of a gear ratio written in pairs of teeth

    @property
    def exact(self) -> bool:
        """Whether it is a number without a band."""
        number = self.value.number
        return number is not None and number.ends is None

    @property
    def derated(self) -> bool:
        """Whether it stands for the largest setting that is not above the derated current."""
        return self.field.fact == RUN_CURRENT and self.value.text == DERATED

    @property
    def label(self) -> str:
        """How the change is written in a table."""
        return f"{self.field.path}={self.text}"


@functools.cache
def known_names() -> Mapping[str, SheetField]:
    """Return what can be varied: fields of the sheet, and settings of the config by their fact."""
    sheet = load_fields()
    names = {
        path: field
        for path, field in sheet.fields.items()
        if path not in _NOT_VARIED and path.rpartition(".")[0] not in sheet.blocks
    }
    by_fact = {field.fact: field for field in names.values()}
    for role in load_dialect().roles.values():
        for key in role.keys.values():
            if key.fact and key.type in _TYPES and key.fact not in names:
                names[key.fact] = by_fact.get(key.fact) or _field_of(key)
    return names


_TYPES = ("number", "integer", "ratio")


_SUCH_AS = (
    "write a field of the sheet (sheet CONFIG --full lists them) or a setting: "
    "drive.gear_diameter, motor.class, motor.run_current, nozzle.diameter ..."
)


def _field_of(key: Key) -> SheetField:
    above = None if parse_unit(key.unit).symbol == "degC" else (0.0, "0")
    whole, ratio = key.type == "integer", key.type == "ratio"
    low, high = _bounds(key)
    if key.at_least == 0.0:  # off, as a config may have it
        above, low = None, (0.0, "0")
    return SheetField(key.fact, key.fact, key.unit, "number", "extruder", above, low, high,
                 count=whole, ratio=ratio)  # fmt: skip


def _bounds(key: Key) -> tuple[Bound | None, Bound | None]:
    """Return what the config's own range of a setting is in SI units, with the ends as text."""
    if key.range is None:
        return None, None
    unit = parse_unit(key.unit)
    low, high = (
        (float(unit.to_si(end)), f"{end:g} {'' if key.unit == '-' else key.unit}".strip())
        for end in (key.range.low, key.range.high)
    )
    return low, high


def read_variation(text: str, catalog: Catalog) -> tuple[Variation, ...]:
    """Return the changes that ``name=a,b,c`` or ``name=low..high:count`` asks for.

    Parameters
    ----------
    text : str
        As typed. Values carry their unit; of a range the lower end may leave it to the upper.
        Values that hold commas (gear ratios in several stages) are parted by semicolons.
    catalog : Catalog
        Where names of classes are looked up.

    Raises
    ------
    UsageError
        For an unknown name, a value that cannot be, or too many values.
    """
    name, equals, values = (part.strip() for part in text.partition("="))
    if not equals or not values:
        raise UsageError(f"--vary '{text}' names no values", "write name=a,b or name=low..high:5")
    field = _field(name, catalog)
    texts = _texts(field, values)
    if len(texts) > _MOST_VALUES:
        raise UsageError(f"--vary {name} has {len(texts)} values", f"give {_MOST_VALUES} at most")
    return tuple(_change(field, one, catalog) for one in dict.fromkeys(texts))


def combinations(variations: Iterable[tuple[Variation, ...]]) -> tuple[tuple[Variation, ...], ...]:
    """Return every combination of the values of several variations, the last one moving fastest.

    Raises
    ------
    UsageError
        If a thing is varied twice, or there are too many combinations.
    """
    rows = list(variations)
    facts = [row[0].field.fact for row in rows]
    double = next((row[0].field.path for row in rows if facts.count(row[0].field.fact) > 1), None)
    if double is not None:
        raise UsageError(f"'{double}' is varied twice", "give all its values in one --vary")
    count = 1
    for row in rows:
        count *= len(row)
    if count > _MOST_VARIANTS:
        raise UsageError(
            f"that makes {count} variants", f"vary less: {_MOST_VARIANTS} are the most"
        )
    return tuple(itertools.product(*rows)) if rows else ()


def _field(name: str, catalog: Catalog) -> SheetField:
    names = known_names()
    if name in names:
        return names[name]
    by_fact = next((field for field in names.values() if field.fact == name), None)
    if by_fact is not None:
        return by_fact
    if name in catalog.facts:
        raise UsageError(
            f"'{name}' cannot be varied: it follows from others or changes no machine",
            f"`feedwright explain {name} CONFIG` shows what it hangs on",
        )
    hint = near_miss(name, names) or _SUCH_AS
    raise UsageError(f"unknown name '{name}' in --vary", hint)


def _texts(field: SheetField, values: str) -> list[str]:
    found = _RANGE.match(values) if field.type == "number" else None
    if found is not None:
        return _spaced(field, *(part.strip() for part in found.groups()))
    mark = ";" if ";" in values else ","
    texts = [part.strip() for part in values.split(mark)]
    if not all(texts):
        raise UsageError(f"--vary {field.path} has an empty value", "take the comma away")
    return texts


def _spaced(field: SheetField, low: str, high: str, count: str) -> list[str]:
    """Return evenly spaced values in the unit of the upper end, as text."""
    number = int(count)
    if not 2 <= number <= _MOST_VALUES:
        problem = f"--vary {field.path}: {count} is no number of values"
        raise UsageError(problem, f"give 2 to {_MOST_VALUES}")
    try:
        end = _quantity(field, high)
        start = _quantity(
            field, low if re.search(r"[^\d.eE+\s-]", low) else f"{low} {end.unit.symbol}"
        )
    except InputError as err:
        raise UsageError(f"--vary {field.path}: {err.problem}", err.remedy) from None
    unit = end.unit
    first, last = float(unit.from_si(start.typical)), float(unit.from_si(end.typical))
    steps = (first + (last - first) * i / (number - 1) for i in range(number))
    return [f"{step:.6g} {unit.symbol}".strip() for step in steps]


def _quantity(field: SheetField, text: str) -> Quantity:
    """Read an end of a range; amperes alone will do for RMS amperes."""
    due = parse_unit(field.unit)
    if due.kind == "rms":
        try:
            return parse_quantity(text, parse_unit("A"))
        except InputError:
            pass
    return parse_quantity(text, due)


def _change(field: SheetField, text: str, catalog: Catalog) -> Variation:
    if field.fact == RUN_CURRENT and text.lower() == DERATED:
        return Variation(field, DERATED, Text(DERATED))
    try:
        read, kind = read_value(field, text, at=Span("--vary", 1), catalog=catalog)
    except InputError as err:
        raise UsageError(f"--vary {err.problem}", err.remedy) from None
    value = value_of(read, catalog.facts[field.fact].unit)
    assert value is not None  # what is read is a number or a text
    shown = value.text or text
    return Variation(field, shown, value, kind, _stages(field, text))


def _stages(field: SheetField, text: str) -> int | None:
    """Return the gear stages of a ratio in teeth; a lone pair above 6:1 counts as two."""
    ratio = parse_ratio(text) if field.ratio else None
    if ratio is None:
        return None
    count = sum(driven != driving for driven, driving in ratio.stages)
    return 2 if count == 1 and ratio.product > 6.0 else count
