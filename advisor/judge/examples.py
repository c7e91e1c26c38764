"""Turns the examples of a rule into facts and events, so that they can be run.

An example maps facts to values: ``0.9 A``, a band ``0.4..0.6 A``, a text, ``true``. A word
before the value says how it is known: ``default``, ``assumed``, ``modelled``; ``missing``,
``unknown`` and ``unreadable`` stand for a value. ``event`` names the kind of event, ``level``
the level expected; other keys without a dot are fields of the event.
"""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import (
    DataError,
    Event,
    Fact,
    InputError,
    Level,
    Origin,
    OriginKind,
    Raw,
    Span,
    State,
    Trace,
    Unit,
    frozen,
    near_miss,
    parse_unit,
)
from advisor.catalog import FactInfo
from advisor.data import Quantity, parse_quantity
from advisor.judge.checks import LEVELS, EventKind

__all__ = ["Example", "check_example", "read_example"]

_STATES = {"missing": State.MISSING, "unknown": State.UNKNOWN, "unreadable": State.UNREADABLE}
_WAYS = ("default", "assumed", "modelled")
_AT = Span("example.cfg", 2, 1)
_HOME = Span("example.cfg", 1, 1)


@frozen
class Example:
    """An example made ready: facts, the event if there is one, and the level expected."""

    facts: Mapping[str, Fact]
    event: Event | None
    level: Level | None


def check_example(
    row: object, *, event: EventKind | None, vocabulary: Mapping[str, FactInfo]
) -> None:
    """Check that an example can be read.

    Raises
    ------
    DataError
        Without a place; the caller knows it.
    """
    if not isinstance(row, dict):
        raise DataError("an example must be a mapping", "write '{motor.run_current: 0.9 A}'")
    for key, value in row.items():
        if key == "level":
            if value not in LEVELS:
                raise DataError(f"level is '{value}'", "write error, warning or note")
        elif key == "event":
            if event is None:
                raise DataError("an example has an event, the rule has none", "take it away")
        elif "." not in key:
            known = event.fields if event else ()
            if key not in known:
                hint = near_miss(key, known) or f"known are {', '.join(known) or 'no fields'}"
                raise DataError(f"'{key}' is no fact and no field", hint)
        else:
            _fact(key, value, vocabulary)


def read_example(
    row: Mapping[str, object], *, event: str | None, vocabulary: Mapping[str, FactInfo]
) -> Example:
    """Return an example as facts and event.

    Parameters
    ----------
    row : mapping
        The example.
    event : str or None
        The kind of event the rule waits for; the example may name another.
    vocabulary : mapping
        The facts with unit and type.
    """
    facts = {key: _fact(key, value, vocabulary) for key, value in row.items() if "." in key}
    fields = {
        key: str(value) for key, value in row.items() if "." not in key and key not in _RESERVED
    }
    kind = row.get("event", event)
    made = None if kind is None else Event(str(kind), _AT, fields)
    return Example(facts, made, Level(str(row["level"])) if "level" in row else None)


_RESERVED = ("level", "event")


def _fact(name: str, value: object, vocabulary: Mapping[str, FactInfo]) -> Fact:
    info = vocabulary.get(name)
    if info is None:
        raise DataError(f"there is no fact '{name}'", near_miss(name, vocabulary) or None)
    text = str(value).strip()
    if text in _STATES:
        origin = Origin(OriginKind.CONFIG, setting=name, text="?")
        return Fact(name, state=_STATES[text], origin=origin, home=_HOME)
    way, _, rest = text.partition(" ")
    if way not in _WAYS:
        way, rest = "", text
    samples = _samples(value if not way else rest, rest, info)
    kind = {"default": OriginKind.DEFAULT, "": OriginKind.CONFIG}.get(way, OriginKind.CATALOGUE)
    trace = Trace(
        assumed=frozenset({name} if way == "assumed" else ()),
        modelled=frozenset({name} if way == "modelled" else ()),
        defaulted=frozenset({name} if way == "default" else ()),
    )
    origin = Origin(kind, at=_AT, setting=name, text=rest.split(" ")[0])
    return Fact.of(name, info.unit, samples, origin=origin, trace=trace, home=_HOME)


def _samples(value: object, text: str, info: FactInfo) -> Raw:
    if info.type == "text":
        return text
    if info.type == "flag":
        if not isinstance(value, bool):
            raise DataError(f"'{value}' is not true or false", "write true or false")
        return value
    try:
        return _spread(parse_quantity(text, _expected(text, info.unit)))
    except InputError as err:
        raise DataError(err.problem, err.remedy) from None


def _expected(text: str, unit: str) -> Unit:
    """Amperes may be written without their basis, as in a condition."""
    due = parse_unit(unit)
    plain = due.kind in ("rms", "peak") and not text.endswith(("rms", "peak"))
    return parse_unit("A") if plain else due


def _spread(quantity: Quantity) -> Raw:
    """Return the typical value, or an ensemble of 101 evenly spread over a band."""
    if quantity.low == quantity.high:
        return quantity.typical
    import numpy as np

    rest = np.linspace(quantity.low, quantity.high, 100)
    return np.concatenate(([quantity.typical], rest))
