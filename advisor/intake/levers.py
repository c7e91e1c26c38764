"""What may be changed to reach a target, read from rules/compare/levers.yaml into frozen records.

It knows the syntax of the file, explained there, and works nothing out.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from advisor.catalog import CATEGORIES, load_catalog
from advisor.frozen import frozen
from advisor.intake.dialect import load_dialect
from advisor.intake.sheet_fields import load_fields
from advisor.resources import artifact
from advisor.units import parse_unit

if TYPE_CHECKING:
    from advisor.schema import Kind, Node

__all__ = ["ARTIFACTS", "Bound", "Lever", "build_levers", "load_levers"]

_FILE = "compare/levers.yaml"
_KINDS = ("fact", "times", "catalogue", "value")
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
    from advisor.schema import checked, listed, raw, read_data, row, sourced, text, word

    catalog = load_catalog()
    need = {
        "fact": checked(word(catalog.facts, "fact", "see rules/facts.yaml"), _stated),
        "step": raw,
        "up_to": raw,
        **sourced(catalog.sources),
    }
    lever = checked(row(need, {"down_to": raw, "note": text}), _row)
    levers = checked(listed(lever, first="fact", what="levers"), _once)
    rows: list[dict[str, Any]] = read_data(_FILE, levers)
    return rows


ARTIFACTS: Mapping[str, Callable[[], Any]] = {"levers": build_levers}


def _once(node: Node, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    facts = [row["fact"] for row in rows]
    for place, fact in enumerate(facts):
        if fact in facts[:place]:
            raise node.into(place, "fact").wrong(f"is '{fact}' again", "keep one entry of it")
    return rows


def _stated(node: Node, fact: str) -> str:
    if fact not in _stateable():
        remedy = "name a fact that a field of the sheet or a setting of the config states"
        raise node.wrong(f"is '{fact}', which follows from others", remedy)
    return fact


@functools.cache
def _stateable() -> frozenset[str]:
    """Return the facts that a sheet or a config can state."""
    sheet = (field.fact for field in load_fields().fields.values())
    config = (k.fact for role in load_dialect().roles.values() for k in role.keys.values())
    return frozenset(fact for fact in (*sheet, *config) if fact)


def _row(node: Node, row: Mapping[str, Any]) -> dict[str, Any]:
    """Read what hangs on the fact: step and bounds are in its unit."""
    from advisor.schema import listed, quantity

    fact = row["fact"]
    bound = _bound(fact)
    step = quantity(load_catalog().facts[fact].unit, si=False)(node.into("step"))
    if step <= 0.0:
        raise node.into("step").wrong(f"is {step:g}", "write a step above 0")
    bounds = listed(bound, least=1)(node.into("up_to"))
    down = bound(node.into("down_to")) if "down_to" in row else None
    if not all(one["words"] for one in bounds):
        problem, remedy = "has a bound without words", "add 'words:': what the bound is"
        raise node.into("up_to").wrong(problem, remedy)
    safe = _SAFE.get(fact)
    if safe is not None and not any(one.get("fact") == safe for one in bounds):
        problem, remedy = f"leads {fact} beyond {safe}", f"add '{{fact: {safe}, ...}}'"
        raise node.into("up_to").wrong(problem, remedy)
    note = row.get("note", "")
    return {"fact": fact, "step": step, "up_to": bounds, "down_to": down, "note": note}


def _bound(fact: str) -> Kind:
    """Return the kind of a bound of a fact."""
    from advisor.schema import checked, number, quantity, row, text, word

    facts, unit = load_catalog().facts, load_catalog().facts[fact].unit

    def like(node: Node, name: str) -> str:
        bound, due = (parse_unit(facts[one].unit) for one in (name, fact))
        if (bound.dimension, bound.kind) != (due.dimension, due.kind):
            problem = f"is {name} in '{facts[name].unit}', {fact} in '{unit}'"
            raise node.wrong(problem, "name a fact of the same kind")
        return name

    def holding(node: Node, name: str) -> str:
        if not any(fact in entry.numbers for entry in load_catalog().category(name).values()):
            raise node.wrong(f"is '{name}', which holds no {fact}", "use another bound")
        return name

    kinds = {
        "fact": checked(word(facts, "fact", "see rules/facts.yaml"), like),
        "times": number(above=0.0),
        "catalogue": checked(word(CATEGORIES, "category of the catalogue"), holding),
        "value": quantity(unit),
        "at_least": quantity(unit),
        "less": quantity("K" if unit == "degC" else unit),
        "words": text,
    }
    return checked(row({}, kinds, one=_KINDS), lambda _, found: {"words": "", **found})
