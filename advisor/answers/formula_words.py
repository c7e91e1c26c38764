"""Writes a formula in words, and with its numbers put in.

A formula's words may name facts in braces, ``{drive.rotation_distance} / {drive.gear_ratio}``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from advisor.base import Fact
from advisor.catalog import FactInfo

__all__ = ["in_numbers", "in_words"]

_NAME = re.compile(r"\{([a-z0-9_.]+)\}")


def in_words(formula: str, infos: Mapping[str, FactInfo]) -> str:
    """Return the formula with the titles of its facts."""
    return _NAME.sub(lambda m: infos[m[1]].title if m[1] in infos else m[1], formula)


def in_numbers(formula: str, facts: Mapping[str, Fact]) -> str | None:
    """Return the formula with the nominal values of its facts, or None if none is known."""
    if not any(name in facts and facts[name].known for name in _NAME.findall(formula)):
        return None
    return _NAME.sub(lambda m: _value(facts.get(m[1])), formula)


def _value(fact: Fact | None) -> str:
    if fact is None or not fact.known:
        return "not known"
    number = fact.number
    if number is None:
        return str(fact.word)
    value = number.in_trade()
    unit = "" if number.unit in ("-", "") else f" {number.unit.removesuffix(' rms')}"
    return f"{value:.4g}{unit}"
