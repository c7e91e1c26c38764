"""What may be changed to reach a target, read from rules/compare/levers.yaml into frozen records.

It knows the syntax of the file, explained there, and works nothing out.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import Any

from advisor.catalog import load_catalog
from advisor.errors import DataError, InputError
from advisor.frozen import frozen
from advisor.intake.rule_reader import RuleReader
from advisor.resources import artifact, read_text
from advisor.units import parse_unit
from advisor.values import parse_quantity
from advisor.yamlread import Placed, read_yaml

__all__ = ["ARTIFACTS", "Bound", "Lever", "build_levers", "load_levers"]

_FILE = "compare/levers.yaml"
_LEVER = ("fact", "step", "up_to", "down_to", "note", "source", "status")
_KINDS = ("fact", "times", "catalogue", "value")
_BOUND = (*_KINDS, "less", "at_least", "words")


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
    try:
        placed = read_yaml(read_text("rules", _FILE), f"rules/{_FILE}")
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None
    if not isinstance(placed.data, list):
        raise DataError("the levers must be a list", "write '- fact: ...'", placed.at())
    return [_row(_part(placed, number)) for number in range(len(placed.data))]


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"levers": build_levers}


def _part(placed: Placed, number: int) -> RuleReader:
    """Return a reader of one entry of the list, its places kept."""

    def below(places: Mapping[Any, Any]) -> dict[Any, Any]:
        return {path[1:]: at for path, at in places.items() if path[:1] == (number,)}

    part = Placed(placed.data[number], placed.file, below(placed.places), below(placed.key_places))
    return RuleReader(part, load_catalog())


def _row(reader: RuleReader) -> dict[str, Any]:
    row = reader.mapping((), _LEVER)
    fact = str(row.get("fact"))
    if fact not in reader.catalog.facts:
        raise reader.mistake(("fact",), f"is '{fact}', no fact", "see rules/facts.yaml")
    if not isinstance(row.get("up_to"), list) or not row["up_to"]:
        raise reader.mistake((), f"of {fact} has no bound", "add 'up_to: [{...}]'")
    reader.source((), row)
    unit = reader.catalog.facts[fact].unit
    down = row.get("down_to")
    return {
        "fact": fact,
        "step": _quantity(reader, ("step",), str(row.get("step", "")), unit, si=False),
        "up_to": [_bound(reader, entry, unit) for entry in row["up_to"]],
        "down_to": None if down is None else _bound(reader, down, unit),
        "note": str(row.get("note", "")),
    }


def _bound(reader: RuleReader, entry: Any, unit: str) -> dict[str, Any]:
    where = ("up_to",)
    kinds = [kind for kind in _KINDS if isinstance(entry, dict) and kind in entry]
    if len(kinds) != 1 or any(key not in _BOUND for key in entry):
        known = ", ".join(_BOUND)
        raise reader.mistake(where, f"needs one of {', '.join(_KINDS)}", f"known are {known}")
    made: dict[str, Any] = {"words": str(entry.get("words", ""))}
    if (fact := entry.get("fact")) is not None and fact not in reader.catalog.facts:
        raise reader.mistake(where, f"is '{fact}', no fact", "see rules/facts.yaml")
    made |= {kind: entry[kind] for kind in ("fact", "catalogue") if kind in entry}
    if "times" in entry:
        made["times"] = float(entry["times"])
    difference = "K" if unit == "degC" else unit
    for name, due in (("value", unit), ("at_least", unit), ("less", difference)):
        if name in entry:
            made[name] = _quantity(reader, where, str(entry[name]), due)
    return made


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
