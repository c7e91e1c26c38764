"""What may be changed to reach a target, read from rules/compare/levers.yaml into frozen records.

It knows the syntax of the file, explained there, and works nothing out.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import Any

from advisor.catalog import CATEGORIES
from advisor.errors import InputError, near_miss
from advisor.frozen import frozen
from advisor.intake.dialect import load_dialect
from advisor.intake.rule_reader import RuleReader, list_parts
from advisor.intake.sheet_fields import load_fields
from advisor.resources import artifact
from advisor.units import parse_unit
from advisor.values import parse_quantity

__all__ = ["ARTIFACTS", "Bound", "Lever", "build_levers", "load_levers"]

_FILE = "compare/levers.yaml"
_LEVER = ("fact", "step", "up_to", "down_to", "note", "source", "status")
_KINDS = ("fact", "times", "catalogue", "value")
_BOUND = (*_KINDS, "less", "at_least", "words")
_SAFE = {"motor.run_current": "motor.set_current", "hotend.temperature": "material.nozzle_high"}


@frozen(kw_only=True)
class Bound:
    """How far a lever may go: by another fact, a factor, the catalogue, or a value in SI."""

    fact: str | None = None
    times: float | None = None
    catalogue: str | None = None
    value: float | None = None
    less: float = 0.0
    at_least: float | None = None
    words: str = ""


@frozen(kw_only=True)
class Lever:
    """One thing that can be changed: its fact, its step in the trade unit, how far it may go."""

    fact: str
    step: float
    up_to: tuple[Bound, ...]
    down_to: Bound | None = None
    note: str = ""


@functools.cache
def load_levers() -> tuple[Lever, ...]:
    """Return the levers in the order of the file; they are read once."""
    return tuple(_lever(row) for row in artifact("levers", build_levers))


def _lever(row: Mapping[str, Any]) -> Lever:
    down = row["down_to"]
    return Lever(
        fact=row["fact"],
        step=row["step"],
        up_to=tuple(Bound(**bound) for bound in row["up_to"]),
        down_to=None if down is None else Bound(**down),
        note=row["note"],
    )


def build_levers() -> list[dict[str, Any]]:
    """Return the file as JSON types: the artifact ``levers``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    parts = list_parts(_FILE, what="levers", first="fact")
    rows = [_row(part) for part in parts]
    facts = [row["fact"] for row in rows]
    for number, fact in enumerate(facts):
        if fact in facts[:number]:
            raise parts[number].mistake(("fact",), f"is '{fact}' again", "keep one entry of it")
    return rows


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"levers": build_levers}


def _row(reader: RuleReader) -> dict[str, Any]:
    row = reader.mapping((), _LEVER)
    fact = str(row.get("fact"))
    if fact not in reader.catalog.facts:
        hint = near_miss(fact, reader.catalog.facts) or "see rules/facts.yaml"
        raise reader.mistake(("fact",), f"is '{fact}', no fact", hint)
    if fact not in _stateable():
        raise reader.mistake(
            ("fact",), f"is '{fact}', which follows from others",
            "name a fact that a field of the sheet or a setting of the config states",
        )  # fmt: skip
    reader.source((), row)
    down, unit = row.get("down_to"), reader.catalog.facts[fact].unit
    return {
        "fact": fact,
        "step": _step(reader, row, unit),
        "up_to": _up_to(reader, row, fact),
        "down_to": None if down is None else _bound(reader, ("down_to",), down, fact),
        "note": str(row.get("note", "")),
    }


@functools.cache
def _stateable() -> frozenset[str]:
    """Return the facts that a sheet or a config can state."""
    sheet = (field.fact for field in load_fields().fields.values())
    config = (k.fact for role in load_dialect().roles.values() for k in role.keys.values())
    return frozenset(fact for fact in (*sheet, *config) if fact)


def _step(reader: RuleReader, row: Mapping[str, Any], unit: str) -> float:
    step = _quantity(reader, ("step",), str(row.get("step", "")), unit, si=False)
    if step <= 0.0:
        raise reader.mistake(("step",), f"is {step:g}", "write a step above 0")
    return step


def _up_to(reader: RuleReader, row: Mapping[str, Any], fact: str) -> list[dict[str, Any]]:
    where, entries = ("up_to",), row.get("up_to")
    if not isinstance(entries, list) or not entries:
        raise reader.mistake((), f"of {fact} has no bound", "add 'up_to: [{...}]'")
    bounds = [_bound(reader, where, entry, fact) for entry in entries]
    if not all(bound["words"] for bound in bounds):
        raise reader.mistake(where, "has a bound without words", "add 'words:': what the bound is")
    safe = _SAFE.get(fact)
    if safe is not None and not any(bound.get("fact") == safe for bound in bounds):
        raise reader.mistake(where, f"leads {fact} beyond {safe}", f"add '{{fact: {safe}, ...}}'")
    return bounds


def _bound(reader: RuleReader, where: tuple[str, ...], entry: Any, fact: str) -> dict[str, Any]:
    kinds = [kind for kind in _KINDS if isinstance(entry, dict) and kind in entry]
    if len(kinds) != 1 or any(key not in _BOUND for key in entry):
        known = ", ".join(_BOUND)
        raise reader.mistake(where, f"needs one of {', '.join(_KINDS)}", f"known are {known}")
    made: dict[str, Any] = {"words": str(entry.get("words", ""))}
    unit = reader.catalog.facts[fact].unit
    checks = {"fact": _bounding_fact, "catalogue": _category, "times": _times}
    made |= {kind: check(reader, where, entry[kind], fact)
             for kind, check in checks.items() if kind in entry}  # fmt: skip
    difference = "K" if unit == "degC" else unit
    for name, due in (("value", unit), ("at_least", unit), ("less", difference)):
        if name in entry:
            made[name] = _quantity(reader, where, str(entry[name]), due)
    return made


def _bounding_fact(reader: RuleReader, where: tuple[str, ...], name: Any, fact: str) -> str:
    facts = reader.catalog.facts
    if name not in facts:
        hint = near_miss(str(name), facts) or "see rules/facts.yaml"
        raise reader.mistake(where, f"is '{name}', no fact", hint)
    bound, due = (parse_unit(facts[one].unit) for one in (str(name), fact))
    if (bound.dimension, bound.kind) != (due.dimension, due.kind):
        problem = f"is {name} in '{facts[name].unit}', {fact} in '{facts[fact].unit}'"
        raise reader.mistake(where, problem, "name a fact of the same kind")
    return str(name)


def _category(reader: RuleReader, where: tuple[str, ...], name: Any, fact: str) -> str:
    if name not in CATEGORIES:
        hint = near_miss(str(name), CATEGORIES) or f"known are {', '.join(CATEGORIES)}"
        raise reader.mistake(where, f"is '{name}', no category of the catalogue", hint)
    entries = reader.catalog.category(name).values()
    if not any(fact in entry.numbers for entry in entries):
        raise reader.mistake(where, f"is '{name}', which holds no {fact}", "use another bound")
    return str(name)


def _times(reader: RuleReader, where: tuple[str, ...], value: Any, fact: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not value > 0:
        raise reader.mistake(where, f"of {fact} is {value} times", "write a factor above 0")
    return float(value)


def _quantity(
    reader: RuleReader, where: tuple[str, ...], text: str, unit: str, *, si: bool = True
) -> float:
    """Return a quantity in SI, or in the trade unit itself (a step of degC is one of kelvin)."""
    due = parse_unit(unit)
    try:
        value = float(parse_quantity(text, due).typical)
    except InputError as err:
        raise reader.mistake(where, f"cannot be: {err.problem}", err.remedy or "") from None
    return value if si else round(float(due.from_si(value)), 12)
