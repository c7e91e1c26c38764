"""What may be changed to gain flow, read from rules/compare/levers.yaml into frozen records.

It knows the syntax of the file, explained there, and works nothing out.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import field
from typing import TYPE_CHECKING, Required, TypedDict

from advisor.base import frozen, parse_unit
from advisor.catalog import CATEGORIES, load_catalog
from advisor.data import Row, artifact
from advisor.inputs import load_dialect, load_fields

if TYPE_CHECKING:
    from advisor.data import Kind, Node

__all__ = ["ARTIFACTS", "Bound", "Lever", "Offer", "build_levers", "load_levers"]

_FILE = "compare/levers.yaml"
_OFFERED = ("catalogue", "times", "value", "most")
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
class Offer:
    """The one change of a lever that is named: ``{}`` in `words` is its value.

    It is the next larger typical value of a category of the catalogue, so many times what it is,
    a value in SI units, or as far as the lever goes.
    """

    words: str
    catalogue: str | None = None
    of: str | None = None
    apart: float = 1.0
    times: float | None = None
    value: float | None = None
    most: bool = False


@frozen(kw_only=True)
class Lever:
    """One thing that can be changed: its fact, its step in the trade unit, how far it may go."""

    fact: str
    known_by: str | None = None  # says what it is now, where nobody states it
    goes_with: Mapping[str, str] = field(default_factory=dict)  # words that are stated with it
    step: float
    up_to: tuple[Bound, ...]
    down_to: Bound | None = None
    offer: Offer | None = None
    note: str = ""


class _BoundRow(TypedDict, total=False):
    """A bound as the file is compiled: one of the first four says which."""

    fact: str
    times: float
    catalogue: str
    value: float
    less: float
    at_least: float
    words: str


class _OfferRow(TypedDict, total=False):
    """An offer as the file is compiled."""

    words: Required[str]
    catalogue: str
    of: str
    apart: float
    times: float
    value: float
    most: bool


class _LeverRow(TypedDict):
    """A lever as the file is compiled: the artifact ``levers`` is a list of them."""

    fact: str
    step: float
    up_to: list[_BoundRow]
    down_to: _BoundRow | None
    note: str
    known_by: str | None
    goes_with: dict[str, str]
    offer: _OfferRow | None


@functools.cache
def load_levers() -> tuple[Lever, ...]:
    """Return the levers in the order of the file; they are read once."""
    return tuple(_lever(row) for row in artifact("levers", build_levers))


def _lever(row: _LeverRow) -> Lever:
    down, offer = row["down_to"], row["offer"]
    return Lever(
        fact=row["fact"],
        known_by=row["known_by"],
        goes_with=row["goes_with"],
        step=row["step"],
        up_to=tuple(Bound(**bound) for bound in row["up_to"]),
        down_to=None if down is None else Bound(**down),
        offer=None if offer is None else Offer(**offer),
        note=row["note"],
    )


def build_levers() -> list[_LeverRow]:
    """Return the file as JSON types: the artifact ``levers``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import checked, listed, raw, read_data, row, sourced, text, word

    catalog = load_catalog()
    need = {
        "fact": checked(word(catalog.facts, "fact", "see rules/facts.yaml"), _stated),
        "step": raw,
        "up_to": raw,
        **sourced(catalog.sources),
    }
    may = {"down_to": raw, "known_by": raw, "goes_with": raw, "offer": raw, "note": text}
    lever = checked(row(need, may), _row)
    return read_data(_FILE, checked(listed(lever, first="fact", what="levers"), _once))


ARTIFACTS: Mapping[str, Callable[[], object]] = {"levers": build_levers}


def _once(node: Node, rows: list[_LeverRow]) -> list[_LeverRow]:
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
    sheet = (one.fact for one in load_fields().fields.values())
    config = (k.fact for role in load_dialect().roles.values() for k in role.keys.values())
    return frozenset(fact for fact in (*sheet, *config) if fact)


def _row(node: Node, row: Row) -> _LeverRow:
    """Read what hangs on the fact: step and bounds are in its unit."""
    from advisor.data import listed, quantity

    fact = row["fact"]
    bound = _bound(fact)
    step = quantity(load_catalog().facts[fact].unit, si=False)(node.into("step"))
    if step <= 0.0:
        raise node.into("step").wrong(f"is {step:g}", "write a step above 0")
    return {
        "fact": fact,
        "step": step,
        "up_to": _safe(node.into("up_to"), fact, listed(bound, least=1)(node.into("up_to"))),
        "down_to": bound(node.into("down_to")) if "down_to" in row else None,
        "note": row.get("note", ""),
        "known_by": _like(fact)(node.into("known_by")) if "known_by" in row else None,
        "goes_with": _classes(node.into("goes_with")) if "goes_with" in row else {},
        "offer": _offer(fact)(node.into("offer")) if "offer" in row else None,
    }


def _safe(node: Node, fact: str, bounds: list[_BoundRow]) -> list[_BoundRow]:
    """Return the bounds, which all have words, and that among them which keeps the fact safe."""
    if not all(one["words"] for one in bounds):
        raise node.wrong("has a bound without words", "add 'words:': what the bound is")
    safe = _SAFE.get(fact)
    if safe is not None and not any(one.get("fact") == safe for one in bounds):
        raise node.wrong(f"leads {fact} beyond {safe}", f"add '{{fact: {safe}, ...}}'")
    return bounds


def _bound(fact: str) -> Kind[_BoundRow]:
    """Return the kind of a bound of a fact."""
    from advisor.data import checked, number, quantity, row, text, typed

    unit = load_catalog().facts[fact].unit
    kinds = {
        "fact": _like(fact),
        "times": number(above=0.0),
        "catalogue": _holding(fact),
        "value": quantity(unit),
        "at_least": quantity(unit),
        "less": quantity("K" if unit == "degC" else unit),
        "words": text,
    }
    bound = typed(_BoundRow, row({}, kinds, one=_KINDS))
    return checked(bound, lambda _, found: {"words": "", **found})


def _like(fact: str) -> Kind[str]:
    """Return the kind of a fact that is of the same kind as this one."""
    from advisor.data import checked, word

    facts = load_catalog().facts

    def like(node: Node, name: str) -> str:
        bound, due = (parse_unit(facts[one].unit) for one in (name, fact))
        if (bound.dimension, bound.kind) != (due.dimension, due.kind):
            problem = f"is {name} in '{facts[name].unit}', {fact} in '{facts[fact].unit}'"
            raise node.wrong(problem, "name a fact of the same kind")
        return name

    return checked(word(facts, "fact", "see rules/facts.yaml"), like)


def _holding(fact: str) -> Kind[str]:
    """Return the kind of a category of the catalogue whose entries hold a fact."""
    from advisor.data import checked, word

    def holding(node: Node, name: str) -> str:
        if not any(fact in entry.numbers for entry in load_catalog().category(name).values()):
            raise node.wrong(f"is '{name}', which holds no {fact}", "use another bound")
        return name

    return checked(word(CATEGORIES, "category of the catalogue"), holding)


def _classes(node: Node) -> dict[str, str]:
    """Read words that are stated with a lever: fields that take a class, and one they take."""
    from advisor.data import names, text

    words: dict[str, str] = names(text)(node)
    fields = {one.fact: one for one in load_fields().fields.values()}
    for name, word in words.items():
        catalogue = fields[name].catalogue if name in fields else None
        if catalogue is None or word not in load_catalog().category(catalogue):
            problem = f"states '{word}' of '{name}', no class of the sheet"
            raise node.wrong(problem, "name a field that takes one, and one it takes")
    return words


def _offer(fact: str) -> Kind[_OfferRow]:
    """Return the kind of what is offered of a fact."""
    from advisor.data import checked, flag, number, quantity, raw, row, text, typed

    kinds = {
        "catalogue": raw,
        "of": _like(fact),
        "apart": number(above=0.0),
        "times": number(above=0.0),
        "value": quantity(load_catalog().facts[fact].unit),
        "most": flag,
    }

    def whole(node: Node, found: _OfferRow) -> _OfferRow:
        if "catalogue" not in found:
            return found
        of = found.get("of", fact)
        return {**found, "of": of, "catalogue": _holding(of)(node.into("catalogue"))}

    return checked(typed(_OfferRow, row({"words": text}, kinds, one=_OFFERED)), whole)
