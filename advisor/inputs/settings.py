"""Turns one setting of a config into a fact, or says in an event why it is none.

Numbers are what the firmware takes for numbers; nothing is guessed and nothing becomes 0.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from advisor.base import Event, Fact, Origin, OriginKind, Span, State, frozen, parse_unit
from advisor.catalog import Catalog
from advisor.data import (
    Ratio,
    parse_integer,
    parse_number,
    parse_ratio,
    why_no_number,
    why_no_ratio,
)
from advisor.inputs.dialect import Key

if TYPE_CHECKING:
    from advisor.config import Setting

__all__ = ["FLAGS", "StatedSetting", "count_stages", "missing_fact", "read_setting"]

_SHOWN = 80  # characters of the user's text in an event
FLAGS = {"1": True, "yes": True, "true": True, "on": True,
          "0": False, "no": False, "false": False, "off": False}  # fmt: skip


@frozen
class StatedSetting:
    """The facts a setting states (unreadable ones too) and what is wrong with it."""

    facts: tuple[Fact, ...]
    event: Event | None = None


class _NoValueError(Exception):
    """The text is no value: the kind of the event, and its words."""

    def __init__(self, kind: str, **fields: str) -> None:
        super().__init__(kind, fields)
        self.kind = kind
        self.fields = fields


def read_setting(
    key: Key, setting: Setting, *, catalog: Catalog, home: Span | None, extruder: str | None
) -> StatedSetting:
    """Return what a setting states.

    Parameters
    ----------
    key : Key
        What the dialect says of it.
    setting : Setting
        The setting in effect.
    catalog : Catalog
        The vocabulary, for the units of the facts.
    home : Span or None
        The header of its section.
    extruder : str or None
        The extruder it belongs to; None for the machine.
    """
    text = setting.value
    origin = Origin(
        OriginKind.CONFIG, at=setting.value_span, setting=setting.raw_key, text=text[:_SHOWN]
    )
    names = [name for name in (key.fact, key.stages) if name is not None]
    units = [catalog.facts[name].unit for name in names]
    try:
        values = _READERS[key.type](key, text)
    except _NoValueError as err:
        facts = tuple(
            Fact(name, state=State.UNREADABLE, origin=origin, home=home) for name in names
        )
        words = {"section": setting.section, "key": setting.key, "text": text[:_SHOWN]}
        fields = {**words, **err.fields}
        return StatedSetting(facts, Event(err.kind, setting.value_span, fields, key.fact, extruder))
    return StatedSetting(
        tuple(
            Fact.of(name, unit, value, origin=origin, home=home)
            for name, unit, value in zip(names, units, values, strict=True)
        )
    )


def missing_fact(
    name: str, *, setting: str, catalog: Catalog, home: Span | None, incomplete: bool
) -> Fact:
    """Return a fact that the config does not state; where it would stand, and its key."""
    state = State.UNKNOWN if incomplete else State.MISSING
    origin = Origin(OriginKind.CONFIG, setting=setting)
    return Fact(catalog.facts[name].name, state=state, origin=origin, home=home)


def count_stages(ratio: Ratio, lone_pair: float | None) -> int:
    """Return the number of gear stages: pairs that change the speed.

    A single pair above `lone_pair` is taken for the whole of two stages.
    """
    pairs = [driven / driving for driven, driving in ratio.stages if driven != driving]
    if len(pairs) == 1 and lone_pair is not None and pairs[0] > lone_pair:
        return 2
    return len(pairs)


def _number(key: Key, text: str) -> tuple[float]:
    value = parse_number(text)
    if value is None:
        raise _NoValueError("value-no-number", why=why_no_number(text))
    _check(key, value)
    return (float(parse_unit(key.unit).to_si(value)),)


def _integer(key: Key, text: str) -> tuple[float]:
    value = parse_integer(text)
    if value is None:
        if parse_number(text) is not None:
            raise _NoValueError("value-not-whole")
        raise _NoValueError("value-no-number", why=why_no_number(text))
    _check(key, value)
    return (float(value),)


def _ratio(key: Key, text: str) -> tuple[float, ...]:
    ratio = parse_ratio(text)
    if ratio is None:
        why = why_no_number(text)
        if why in ("empty", "template", "quoted", "placeholder"):
            raise _NoValueError("value-no-number", why=why)
        raise _NoValueError("malformed-ratio", why=why_no_ratio(text))
    _check(key, ratio.product)
    stages = (float(count_stages(ratio, key.lone_pair)),) if key.stages else ()
    return (ratio.product, *stages)


def _flag(key: Key, text: str) -> tuple[bool]:
    value = FLAGS.get(text.strip().lower())
    if value is None:
        raise _NoValueError("value-no-flag")
    return (value,)


def _check(key: Key, value: float) -> None:
    unit = f" {key.unit}" if key.unit not in ("", "-") else ""
    for bound, words, broken in (
        (key.above, "above", key.above is not None and value <= key.above),
        (key.at_least, "at least", key.at_least is not None and value < key.at_least),
        (key.at_most, "at most", key.at_most is not None and value > key.at_most),
    ):
        if broken:
            raise _NoValueError("value-out-of-range", limit=f"{words} {bound:g}{unit}")
    if key.range is not None and value not in key.range:
        raise _NoValueError("value-beyond-any-machine", limit=key.range.words(key.unit))


_READERS: Mapping[str, Callable[[Key, str], tuple[float | bool, ...]]] = {
    "number": _number,
    "integer": _integer,
    "ratio": _ratio,
    "flag": _flag,
}
