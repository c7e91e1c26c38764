"""Reads one YAML text of a hardware sheet into values by field, and gathers its mistakes.

It opens no file and joins no sheets; see `sheet`.
What a sheet says is held by frozen records, and all its mistakes by one error.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from typing import TypeAlias

from advisor.base import (
    HINTS,
    SHEET_NODES,
    Fact,
    InputError,
    Mistakes,
    Number,
    Origin,
    OriginKind,
    SheetError,
    Span,
    Value,
    frozen,
    near_miss,
)
from advisor.catalog import Catalog
from advisor.data import Placed, Plain, below, read_yaml
from advisor.inputs.dialect import load_dialect
from advisor.inputs.discovery import is_extruder
from advisor.inputs.sheet_fields import Fields, SheetField, SheetValue, read_value

__all__ = [
    "Allowance",
    "Measurement",
    "Sheet",
    "SheetMistakes",
    "SheetPart",
    "SheetReader",
    "Values",
]

Values = dict[str, Fact]  # by the path of the field
_OTHERS = ("name", "base", "extruders", "allow")
_MOST = 8  # measurements of one kind
_LONGEST_NAME = 40  # characters: it stands in columns and headings
_RULE = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\Z")


class SheetMistakes(Mistakes, SheetError):
    """Several mistakes of one sheet."""


@frozen
class Allowance:
    """A rule the owner allows to fire in silence, where the sheet says so, and why."""

    rule: str
    at: Span
    reason: str = ""


@frozen
class Measurement:
    """A measurement as a whole: its values by the last word of their fields, and its place."""

    values: Mapping[str, Value]
    at: Span | None = None

    def number(self, name: str) -> Number | None:
        """Return a number; None where it is not stated."""
        value = self.values.get(name)
        return None if value is None else value.number

    def nominal(self, name: str) -> float | None:
        """Return a number, of a band the typical one, in SI units; None where it is not stated."""
        number = self.number(name)
        return None if number is None else number.nominal

    def text(self, name: str) -> str | None:
        """Return a text; None where it is not stated."""
        value = self.values.get(name)
        return None if value is None else value.text


@frozen
class SheetPart:
    """What a sheet states for all extruders, or for one.

    ``facts`` by name: a number, perhaps a band, or a text. ``measured`` holds the measurements by
    the last word of their block: ``measured_flow`` (flow, material, temperature, nozzle),
    ``measured_force`` (force, outcome), ``measured_case`` (temperature, current, ambient),
    ``measured_skip`` (current, flow, material, temperature, nozzle); of several the later ones
    have their number behind, ``measured_skip 2``.
    """

    facts: Mapping[str, Fact] = field(default_factory=dict)
    measured: Mapping[str, Measurement] = field(default_factory=dict)


@frozen
class Sheet:
    """A hardware sheet with its bases joined in.

    ``file`` is None where the command line alone states something; ``files`` are the paths
    read, the sheet itself first. ``name`` is what the owner calls what it describes.
    """

    file: str | None
    shared: SheetPart
    extruders: Mapping[str, SheetPart] = field(default_factory=dict)
    allow: tuple[Allowance, ...] = ()
    files: tuple[str, ...] = ()
    name: str | None = None

    def part(self, extruder: str) -> SheetPart:
        """Return what is stated for an extruder: its own over the shared."""
        return self.extruders.get(extruder, self.shared)


_Path: TypeAlias = "tuple[str | int, ...]"


class SheetReader:
    """Reads texts of sheets; `mistakes` grows."""

    def __init__(self, fields: Fields, catalog: Catalog) -> None:
        self.fields = fields
        self.catalog = catalog
        self.mistakes: list[SheetError] = []
        self._failed: set[_Path] = set()  # places of values that could not be read

    def note(self, problem: str, remedy: str | None, at: Span | None) -> None:
        """Remember a mistake."""
        self.mistakes.append(SheetError(problem, remedy, at))

    def document(self, text: str, file: str) -> Placed:
        """Return the YAML of a sheet; an empty mapping where it is none."""
        try:
            placed = read_yaml(text, file, most=SHEET_NODES)
        except InputError as err:
            self.note(err.problem, err.remedy, err.at)
            return Placed({}, file)
        if placed.data is None:
            placed.data = {}
        if not isinstance(placed.data, dict):
            self.note("a sheet is a mapping", "begin with 'motor:' or the like", Span(file, 1))
            placed.data = {}
        return placed

    def shared(self, placed: Placed) -> Values:
        """Return what the sheet states for all extruders."""
        return self._block(placed, (), "")

    def extruders(self, placed: Placed) -> dict[str, Values]:
        """Return what the sheet states for single extruders, by the name of their section."""
        rows = placed.get("extruders")
        if rows is None:
            return {}
        if not isinstance(rows, dict):
            remedy = "write 'extruders: {extruder1: {...}}'"
            self.note("extruders: this must be a mapping", remedy, placed.at("extruders"))
            return {}
        dialect = load_dialect()
        for name in rows:
            if not is_extruder(dialect, name):
                at = placed.key_at("extruders", name)
                self.note(f"extruders: '{name}' names no extruder", "write it as the config", at)
        return {name: self._block(placed, ("extruders", name), "") for name in rows}

    def named(self, placed: Placed) -> str | None:
        """Return what the owner calls what the sheet describes."""
        given = placed.get("name")
        if given is None:
            return None
        name = " ".join(str(given).split())
        if isinstance(given, dict | list) or not name or len(name) > _LONGEST_NAME:
            remedy = f"write a few words, at most {_LONGEST_NAME} letters"
            self.note("name: this is no short name", remedy, placed.at("name"))
            return None
        return name

    def allowed(self, placed: Placed) -> list[Allowance]:
        """Return the rules the owner allows to fire: each item is ``rule-name, reason``."""
        rows = placed.get("allow")
        if rows is None:
            return []
        if not isinstance(rows, list):
            remedy = "write '- rule-name, reason' below it"
            self.note("allow: this must be a list", remedy, placed.at("allow"))
            return []
        found = []
        for index, item in enumerate(rows):
            at = placed.at("allow", index)
            name, _, reason = (part.strip() for part in str(item).partition(","))
            if _RULE.match(name):
                found.append(Allowance(name, at, reason))
            else:
                self.note(f"allow: '{name}' is no rule name", "copy it from a finding", at)
        return found

    def _block(self, placed: Placed, path: _Path, group: str) -> Values:
        """Return the values under `path`, which holds the fields of `group`."""
        rows = placed.data
        for step in path:
            rows = below(rows, step)
        if rows is None:
            return {}
        if not isinstance(rows, dict):
            self._no_block(placed, path, group, rows)
            return {}
        found: Values = {}
        for name, value in rows.items():
            inner = f"{group}.{name}" if group else name
            if inner in self.fields.fields:
                self._value(placed, (*path, name), self.fields.fields[inner], value, found)
            elif inner in self.fields.lists and isinstance(value, list):
                found |= self._listed(placed, (*path, name), inner, value)
            elif name in self.fields.children(group):
                for field, fact in self._block(placed, (*path, name), inner).items():
                    self._state(found, field, fact)
            elif path or name not in _OTHERS:
                self._unknown(name, group, placed.key_at(*path, name))
        self._complete(placed, path, group, found)
        return found

    def _listed(self, placed: Placed, path: _Path, group: str, rows: list[Plain]) -> Values:
        """Return the values of several blocks; those after the first have its number behind."""
        found: Values = {}
        for index in range(min(len(rows), _MOST)):
            values = self._block(placed, (*path, index), group)
            found |= {f"{name} {index + 1}" if index else name: x for name, x in values.items()}
        if len(rows) > _MOST:
            problem = f"{group}: there are more than {_MOST} of them"
            self.note(problem, "keep the newest", placed.at(*path))
        return found

    def _no_block(self, placed: Placed, path: _Path, group: str, rows: Plain) -> None:
        name = group or str(path[-1])
        names = ", ".join(self.fields.children(group)[:3])
        shown = "a list" if isinstance(rows, list) else f"'{rows}'"
        problem = f"{name}: this must be a block of fields, not {shown}"
        self.note(problem, f"write '{name}: {{...}}' with {names} ...", placed.at(*path))
        self._failed.add(path)

    def _value(
        self, placed: Placed, path: _Path, row: SheetField, value: Plain, found: Values
    ) -> None:
        """Read one value; a blank one states nothing."""
        if value is None:
            return
        at = placed.at(*path)
        try:
            if isinstance(value, dict | list):
                raise InputError(f"{row.path}: this must be one value", "give one, no list", at)
            if row.scope == "machine" and path[0] == "extruders":
                problem = f"{row.path}: this holds for the whole machine"
                raise InputError(problem, "state it at the top of the sheet", at)
            read, kind = read_value(row, value, at=at, catalog=self.catalog)
        except InputError as err:
            self._failed.add(path)
            self.note(err.problem, err.remedy, err.at)
            return
        self._state(found, row.path, _fact(row, read, at, str(value)))
        if kind is not None and row.basis is not None:
            basis = self.fields.fields[row.basis]
            self._state(found, basis.path, _fact(basis, kind, at, str(value)))

    def _state(self, found: Values, path: str, fact: Fact) -> None:
        """Add a value; what the unit of one field says may not contradict another field."""
        present = found.setdefault(path, fact)
        if present.value != fact.value:
            problem = f"{path}: '{present.origin.text}' and '{fact.origin.text}' disagree"
            self.note(problem, "keep one", fact.origin.at)

    def _complete(self, placed: Placed, path: _Path, group: str, found: Values) -> None:
        """Note what a measurement lacks."""
        for name in self.fields.blocks.get(group, ()):
            if f"{group}.{name}" not in found and (*path, name) not in self._failed:
                problem = f"{group}: a measurement without its {name} says nothing"
                self.note(problem, f"add '{name}:'", placed.at(*path))

    def _unknown(self, name: str, group: str, at: Span) -> None:
        children = (*self.fields.children(group), *(() if group else _OTHERS))
        elsewhere = [path for path in self.fields.fields if path.endswith(f".{name}")]
        hint = near_miss(name, children) if len(self.mistakes) < HINTS else ""
        if elsewhere and not hint:
            hint = f"it belongs under '{elsewhere[0].rpartition('.')[0]}:'"
        hint = hint or f"known are {', '.join(children)}"
        self.note(f"unknown field '{name}'{f' in {group}' if group else ''}", hint, at)


def _fact(row: SheetField, read: SheetValue | str, at: Span, text: str) -> Fact:
    origin = Origin(OriginKind.SHEET, at=at, setting=row.path, text=text)
    return Fact.of(row.fact, row.unit, read, origin=origin)
